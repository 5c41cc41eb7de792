"""Minutes held against the band."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.actions.looking_back import against, by_hour, extremes
from service.plans.course import BandSpan, How, Step
from service.record.types import EPOCH

BEGAN = datetime(2026, 11, 1, tzinfo=UTC)
FIRST = int((BEGAN - EPOCH).total_seconds()) // 60


def at(hours: float) -> datetime:
    return BEGAN + timedelta(hours=hours)


STEPS = [
    Step(1, "warm", at(0), at(2), None, How.START),
    Step(2, "open", at(2), at(3), None, How.ADVANCE),
    Step(3, "cold", at(3), None, None, How.ADVANCE),
]
SPANS = [
    BandSpan(at(0), at(2), "warm", 20, 19, 21),
    BandSpan(at(2), at(3), "open", None, None, None),
    BandSpan(at(3), at(5), "cold", 4, None, 6),
]


def test_each_step_is_counted_by_itself_and_one_without_a_band_is_not() -> None:
    means = {FIRST + m: 22.0 if m < 60 else 20.0 for m in range(180)} | {
        FIRST + m: 7.0 for m in range(180, 240)
    }

    found = against(SPANS, STEPS, means, 1)

    assert set(found) == {1, 3}
    assert (found[1].watched_s, found[1].inside_s, found[1].share) == (7200.0, 3600.0, 0.5)
    assert found[1].warm == pytest.approx(1.0)
    assert found[1].cold == 0.0
    assert (found[3].watched_s, found[3].inside_s) == (3600.0, 0.0)
    assert found[3].warm == pytest.approx(1.0)


def test_minutes_before_and_after_the_batch_are_not_counted() -> None:
    outside = {FIRST - 1: 20.0, FIRST + 300: 5.0}

    assert against(SPANS, STEPS, outside, 1) == {}


def test_the_edge_of_the_band_belongs_to_it() -> None:
    found = against(SPANS, STEPS, {FIRST: 21.0, FIRST + 1: 19.0, FIRST + 2: 21.001}, 1)

    assert (found[1].watched_s, found[1].inside_s) == (180.0, 120.0)


def test_an_hour_hardly_measured_is_no_extreme() -> None:
    means = {FIRST + m: 20.0 for m in range(60)} | {FIRST + 60 + m: 30.0 for m in range(29)}

    hours = by_hour(means, 1)

    assert [(h.at, h.temp_c) for h in hours] == [(at(0), 20.0)]
    assert extremes(hours, at(1), at(2)) == (None, None)


@settings(max_examples=50, deadline=None)
@given(st.dictionaries(st.integers(0, 299), st.floats(-5, 110), max_size=80))
def test_time_inside_and_outside_is_all_the_time_watched(minutes: dict[int, float]) -> None:
    found = against(SPANS, STEPS, {FIRST + m: c for m, c in minutes.items()}, 1)

    for counted in found.values():
        assert 0 <= counted.inside_s <= counted.watched_s
        assert (counted.inside_s == counted.watched_s) == (counted.warm == counted.cold == 0)
    assert sum(c.watched_s for c in found.values()) == 60 * sum(1 for m in minutes if not 120 <= m < 180)
