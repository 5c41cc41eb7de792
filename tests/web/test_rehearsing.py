"""A rehearsal as a picture and as sentences."""

from datetime import timedelta

import pytest

from service.errors import InvalidInputError, Problem
from tests.web.fake_rehearsal import rehearsal
from tests.web.fakes import NOON, H
from web.rehearsing import RehearsalView, fields_of, in_form, picture, request_of, stray_words
from web.views import AheadPoint
from web.words import Taste

C = Taste()


def xy(points: str) -> list[tuple[float, float]]:
    return [(float(x), float(y)) for x, y in (pair.split(",") for pair in points.split(" "))]


def test_the_course_goes_from_edge_to_edge_and_warmer_is_higher() -> None:
    drawn = picture(rehearsal(NOON, ["primary", "cold"], False), C)

    assert drawn is not None
    line = xy(drawn.line)
    assert (line[0][0], line[-1][0]) == (0.0, 1000.0)
    assert [x for x, _ in line] == sorted(x for x, _ in line)
    assert min(line, key=lambda p: p[1])[0] == pytest.approx(40 / 191 * 1000, abs=6)
    assert all(0 <= x <= 1000 and 0 <= y <= 1000 for x, y in [*line, *xy(drawn.spread)])


def test_a_stray_lies_where_it_happens_and_stages_where_they_begin() -> None:
    drawn = picture(rehearsal(NOON, ["primary", "cold"], False), C)

    assert drawn is not None
    (stray,) = drawn.strays
    assert stray.start == pytest.approx(30 / 191 * 100, abs=0.1)
    assert stray.length == pytest.approx(20 / 191 * 100, abs=0.1)
    assert [(w.words, round(w.x)) for w in drawn.stages] == [("primary", 0), ("cold", round(96 / 191 * 100))]


def test_the_picture_is_the_same_in_fahrenheit_but_for_its_degrees() -> None:
    seen = rehearsal(NOON, ["primary"], False)
    cold, warm = picture(seen, C), picture(seen, Taste(units="F"))

    assert cold is not None
    assert warm is not None
    assert all(16 <= float(t.label) <= 25 for t in cold.degrees)
    assert all(60 <= float(t.label) <= 77 for t in warm.degrees)


def test_where_a_stage_has_no_band_the_fairway_is_cut() -> None:
    points = [
        AheadPoint(NOON + n * H, 20.0, 19.0, 21.0, *((18.0, 22.0) if not 4 <= n < 8 else (None, None)))
        for n in range(12)
    ]

    drawn = picture(RehearsalView(points), C)

    assert drawn is not None
    assert len(drawn.fairways) == 2


def test_a_band_open_on_one_side_reaches_the_edge() -> None:
    points = [AheadPoint(NOON + n * H, 20.0, 19.0, 21.0, None, 22.0) for n in range(3)]

    drawn = picture(RehearsalView(points), C)

    assert drawn is not None
    assert max(y for _, y in xy(drawn.fairways[0])) == 1000.0


def test_there_is_no_picture_of_nothing() -> None:
    assert picture(RehearsalView(()), C) is None


def test_a_stray_is_said_with_its_stage_side_time_and_worst() -> None:
    (stray,) = rehearsal(NOON, ["primary"], False).strays

    assert stray_words(stray, C, NOON) == "primary: too warm from Thu 18:05 to Fri 14:05, up to 21.5 C."


@pytest.mark.parametrize(
    ("said", "shown"),
    [
        ("/plan/stages/0/low_c", "/stages/0/low_c"),
        ("/plan/stages/1/lasts_s", "/stages/1/lasts_h"),
        ("/volume_l", "/in/volume_l"),
        ("/surroundings_c/mean_c", "/in/surroundings_c"),
        ("/away/0/to", "/in/away_to"),
        ("/away/0/from", "/in/away_from"),
        ("/away/0", "/in/away_from"),
        ("/plan", "/plan"),
    ],
)
def test_a_problem_is_named_after_the_field_that_the_form_has(said: str, shown: str) -> None:
    assert in_form([Problem(said, "is wrong")]).problems[0].field == shown


def test_the_backwards_question_is_asked_with_its_days_away() -> None:
    asked = request_of({"name": "x"}, {"og": 1.05, "away_from": "a", "away_to": "b"})

    assert asked == {"plan": {"name": "x"}, "og": 1.05, "away": [{"from": "a", "to": "b"}]}
    assert "away" not in request_of({}, {"og": 1.05})


def test_a_plan_without_a_name_can_be_rehearsed() -> None:
    assert request_of({"name": "", "stages": []}, {})["plan"]["name"] == "Not named yet"


def test_only_the_fields_of_a_rehearsal_are_taken() -> None:
    found = fields_of({"in/og": "1.05", "name": "x", "in/other": "y"})

    assert found["og"] == "1.05"
    assert "other" not in found
    assert isinstance(in_form([]), InvalidInputError)
    assert timedelta(hours=1) == H
