"""Figures, times and lengths of time in the brewer's own way."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from web.words import Taste, clock, counted, duration, listed, number

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    "celsius, taste, words",
    [
        (19.81, Taste(), "19.8 C"),
        (-0.31, Taste(), "−0.3 C"),
        (-0.04, Taste(), "0.0 C"),
        (20.0, Taste(units="F"), "68.0 F"),
        (-40.0, Taste(units="F"), "−40.0 F"),
        (None, Taste(), "–"),
    ],
)
def test_a_temperature_is_written_with_its_unit(celsius: float | None, taste: Taste, words: str) -> None:
    assert taste.temperature(celsius) == words


def test_a_difference_in_fahrenheit_has_no_offset() -> None:
    assert Taste(units="F").difference(-1.0) == "1.8 F"


@pytest.mark.parametrize(
    "length, words",
    [
        (timedelta(seconds=-3), "0 s"),
        (timedelta(seconds=4), "4 s"),
        (timedelta(seconds=59), "59 s"),
        (timedelta(minutes=26), "26 min"),
        (timedelta(minutes=60), "1 h"),
        (timedelta(minutes=190), "3 h 10 min"),
        (timedelta(hours=24), "1 d"),
        (timedelta(days=2, hours=4, minutes=59), "2 d 4 h"),
    ],
)
def test_a_length_of_time_has_at_most_two_units(length: timedelta, words: str) -> None:
    assert duration(length) == words


@pytest.mark.parametrize(
    "at, words",
    [
        (NOON, "12:00"),
        (NOON + timedelta(hours=13), "Thu 01:00"),
        (NOON - timedelta(days=6), "Thu 12:00"),
        (NOON - timedelta(days=7), "18 Nov 12:00"),
        (NOON + timedelta(days=60), "24 Jan 2027 12:00"),
    ],
)
def test_a_moment_is_as_short_as_it_stays_clear(at: datetime, words: str) -> None:
    assert Taste().moment(at, NOON) == words


@pytest.mark.parametrize(
    "hour, words", [(0, "12:05 am"), (11, "11:05 am"), (12, "12:05 pm"), (23, "11:05 pm")]
)
def test_a_twelve_hour_clock_has_no_zero(hour: int, words: str) -> None:
    assert Taste(clock=12).hour(datetime(2026, 11, 25, hour, 5, tzinfo=UTC)) == words


def test_today_is_the_brewers_day_and_not_that_of_utc() -> None:
    taste = Taste(timezone="Pacific/Auckland")

    assert taste.moment(NOON - timedelta(minutes=30), NOON) == "00:30"
    assert taste.moment(NOON - timedelta(minutes=90), NOON) == "Wed 23:30"


@pytest.mark.parametrize(
    "names, words", [(["A"], "A"), (["A", "B"], "A and B"), (["A", "B", "C"], "A, B and C")]
)
def test_names_are_listed_as_in_a_sentence(names: list[str], words: str) -> None:
    assert listed(names) == words


def test_small_numbers_are_words() -> None:
    assert [counted(n, "thing", "things") for n in (0, 1, 3, 12)] == [
        "no things",
        "one thing",
        "three things",
        "12 things",
    ]


@given(st.floats(-1e6, 1e6))
def test_a_figure_reads_back_as_what_it_rounds_to(value: float) -> None:
    text = number(value)

    assert float(text.replace("−", "-")) == float(f"{value:.1f}")
    assert "-" not in text


@pytest.mark.parametrize(
    "length, words",
    [
        (timedelta(seconds=-3), "00:00"),
        (timedelta(seconds=9.9), "00:09"),
        (timedelta(minutes=59, seconds=59), "59:59"),
        (timedelta(hours=1, minutes=5, seconds=9), "1:05:09"),
        (timedelta(days=1, minutes=1), "24:01:00"),
    ],
)
def test_a_timer_shows_minutes_and_seconds_and_hours_when_there_are_some(
    length: timedelta, words: str
) -> None:
    assert clock(length) == words
