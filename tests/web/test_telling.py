"""The words and rows that stand beside a batch's chart say what it shows."""

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

from tests.web.fake_chart import story
from tests.web.fakes import NOON, H
from web.chart import GravityPoint, Story
from web.telling import APART, ahead_sentence, gravity_rows, gravity_sentence
from web.words import Taste

TASTE = Taste()


def test_the_way_ahead_is_said_with_its_interval_and_when_it_leaves_the_band() -> None:
    words = ahead_sentence(story(), TASTE, NOON)

    assert words.startswith("In the coming 2 d it is expected to go from ")
    assert "with 90 %" in words
    assert words.endswith("and to leave its band about Thu 21:05.")


def test_a_beer_outside_its_band_is_not_said_to_leave_it() -> None:
    told = replace(story(), leaves_band_at=NOON)

    assert ahead_sentence(told, TASTE, NOON).endswith("it lies outside its band already.")


def test_nothing_is_said_of_what_is_not_known() -> None:
    assert ahead_sentence(Story(), TASTE, NOON) == ""
    assert ahead_sentence(Story(ahead=()), TASTE, NOON) == ""
    assert gravity_sentence(Story(), TASTE, NOON) == ""
    assert list(gravity_rows(Story())) == []


def test_reading_and_estimate_are_told_apart() -> None:
    words = gravity_sentence(story(), TASTE, NOON)

    assert "last read as 1.024 SG (Tue 18:05)" in words
    assert "estimated from its heat as 1.014 SG (with 90 % 1.012 to 1.016, 12:05)" in words


def test_an_estimate_alone_begins_the_sentence() -> None:
    words = gravity_sentence(replace(story(), readings=()), TASTE, NOON)

    assert words.startswith("Its gravity was estimated from its heat as 1.014 SG")


def test_gravities_are_said_in_plato_where_that_is_wanted() -> None:
    assert " 3.6 Plato" in gravity_sentence(story(), Taste(gravity="Plato"), NOON)


def test_the_table_has_every_reading_and_an_estimate_each_half_day_newest_first() -> None:
    rows = gravity_rows(story())

    estimates = [row for row in rows if not row.words]
    assert [row.at for row in rows] == sorted((row.at for row in rows), reverse=True)
    assert sum(bool(row.words) for row in rows) == 2
    assert estimates[0].at == NOON
    assert all(a.at - b.at >= APART for a, b in pairwise(estimates))
    assert len(estimates) == 6


def test_estimates_that_came_hours_apart_all_stand_in_the_table() -> None:
    told = Story(estimates=[GravityPoint(NOON - n * 24 * H, 1.02, 1.01, 1.03) for n in range(3, -1, -1)])

    assert len(gravity_rows(told)) == 4
    assert timedelta(hours=12) == APART
