from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.alarms.model import Presence
from service.alarms.rules import (
    boiling_plateau_c,
    bottles_warm,
    fast_change,
    near_boil,
    near_freezing,
    slope_c_per_h,
)
from tests.alarms.making import T0, about, at

PRESENT, NEAR, ABSENT, UNKNOWN = Presence.PRESENT, Presence.NEAR, Presence.ABSENT, Presence.UNKNOWN


@pytest.mark.parametrize(
    ("temp_c", "slope", "plateau_c", "presence"),
    [
        (95.0, 2.0, 99.2, PRESENT),
        (90.0, 2.0, 99.2, NEAR),
        (80.0, 2.0, 99.2, ABSENT),
        (96.0, 0.0, 99.2, ABSENT),
        (96.0, 0.1, 99.2, ABSENT),
        (96.0, -2.0, 99.2, ABSENT),
        (98.95, 2.0, 99.2, ABSENT),
        (93.0, 1.0, 95.5, PRESENT),
        (93.0, 1.0, None, ABSENT),
        (98.0, 1.0, None, PRESENT),
        (None, 1.0, 99.2, UNKNOWN),
        (95.0, None, 99.2, UNKNOWN),
    ],
)
def test_a_kettle_is_about_to_boil_by_its_climb_and_its_own_plateau(
    temp_c: float | None, slope: float | None, plateau_c: float | None, presence: Presence
) -> None:
    assert near_boil(about(), temp_c, slope, plateau_c).presence is presence


def test_it_says_how_soon_it_boils() -> None:
    assert near_boil(about(), 95.2, 2.0, 99.2).reason == "95.2 C and climbing: it boils in about 2 min"


def test_a_kettles_plateau_is_read_from_its_last_level_minutes() -> None:
    climb = [(at(s), 90.0 + s / 60) for s in range(0, 540, 10)]
    level = [(at(540 + s), 98.9 + 0.1 * (s % 20 == 0)) for s in range(0, 310, 10)]

    assert boiling_plateau_c(climb) is None
    assert boiling_plateau_c([]) is None
    assert boiling_plateau_c([(when, temp - 40.0) for when, temp in level]) is None
    assert boiling_plateau_c(climb + level) == pytest.approx(98.95, abs=0.01)


@settings(max_examples=50, deadline=None)
@given(st.floats(-50, 50), st.floats(-10, 100), st.integers(3, 60))
def test_the_slope_of_a_straight_line_is_found(slope: float, start: float, count: int) -> None:
    run = [(T0 + timedelta(seconds=20 * i), start + slope * 20 * i / 3600) for i in range(count)]

    assert slope_c_per_h(run) == pytest.approx(slope, abs=1e-6)


def test_too_few_or_too_close_samples_have_no_slope() -> None:
    assert slope_c_per_h([(at(0), 20.0), (at(60), 21.0)]) is None
    assert slope_c_per_h([(at(0), 20.0), (at(10), 20.5), (at(20), 21.0)]) is None


@pytest.mark.parametrize(
    ("temp_c", "slope", "presence"),
    [
        (-0.5, 0.0, PRESENT),
        (-0.4, 0.0, NEAR),
        (0.0, 0.0, ABSENT),
        (0.9, -2.0, PRESENT),
        (0.9, -1.8, ABSENT),
        (1.5, -5.0, ABSENT),
        (0.5, None, ABSENT),
        (-0.6, None, PRESENT),
        (None, -2.0, UNKNOWN),
    ],
)
def test_freezing_is_near_by_temperature_or_by_fall(
    temp_c: float | None, slope: float | None, presence: Presence
) -> None:
    assert near_freezing(about(), temp_c, slope).presence is presence


@pytest.mark.parametrize(
    ("temp_c", "presence"), [(28.1, PRESENT), (28.0, NEAR), (27.1, NEAR), (27.0, ABSENT), (None, UNKNOWN)]
)
def test_bottles_are_warm_above_28(temp_c: float | None, presence: Presence) -> None:
    assert bottles_warm(about(), temp_c).presence is presence


@pytest.mark.parametrize(
    ("rate", "fall", "before_end", "by_plan", "presence"),
    [
        (4.1, None, True, False, PRESENT),
        (-4.1, 0.0, True, False, PRESENT),
        (3.5, 0.0, True, False, NEAR),
        (3.0, 0.0, True, False, ABSENT),
        (0.0, 2.51, True, False, PRESENT),
        (0.0, 2.51, None, False, PRESENT),
        (0.0, 2.51, False, False, ABSENT),
        (0.0, 2.4, True, False, NEAR),
        (0.0, 2.3, True, False, ABSENT),
        (0.0, -5.0, True, False, ABSENT),
        (None, 2.6, True, False, PRESENT),
        (None, None, True, False, UNKNOWN),
        (-30.0, 9.0, True, True, ABSENT),
    ],
)
def test_a_change_is_too_fast_for_the_vessel_or_for_the_yeast(
    rate: float | None, fall: float | None, before_end: bool | None, by_plan: bool, presence: Presence
) -> None:
    found = fast_change(about(), rate, 4.0, fall, before_end=before_end, by_plan=by_plan)

    assert found.presence is presence


def test_a_fast_change_says_which_way_or_how_much_in_a_day() -> None:
    falling = fast_change(about(), -6.0, 4.0, 1.0, before_end=True, by_plan=False)
    fallen = fast_change(about(), -0.1, 4.0, 2.8, before_end=True, by_plan=False)

    assert falling.reason == "falling by 6.0 C an hour since 14:05"
    assert fallen.reason == "2.8 C colder than a day ago, before the fermentation has ended"
