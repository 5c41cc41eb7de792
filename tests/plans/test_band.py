import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.plans.band import Band, band_at, target_at
from tests.plans.given import NOON, days, hours, seconds, stage

RAMP = {"from": 18, "to": 20, "over_s": 86400}


@pytest.mark.parametrize(
    "after_h, target_c", [(-1, 18.0), (0, 18.0), (6, 18.5), (12, 19.0), (24, 20.0), (25, 20.0), (1000, 20.0)]
)
def test_a_ramp_moves_the_target_in_a_straight_line(after_h: float, target_c: float) -> None:
    rising = stage("primary", target_c=RAMP)

    assert target_at(rising, NOON, NOON + hours(after_h)) == pytest.approx(target_c)


def test_a_relative_band_moves_with_its_ramp() -> None:
    rising = stage("primary", target_c=RAMP, band="relative", low_c=-1.5, high_c=0.5)

    assert band_at(rising, NOON, NOON + hours(12)) == Band(19.0, 17.5, 19.5)


def test_the_band_of_the_kind_moves_with_a_ramp_too() -> None:
    rising = stage("primary", target_c=RAMP)

    assert band_at(rising, NOON, NOON + hours(12)) == Band(19.0, 17.0, 21.0)


def test_absolute_limits_stay_where_they_are_while_the_target_moves() -> None:
    rising = stage("primary", target_c=RAMP, low_c=17, high_c=22)

    assert band_at(rising, NOON, NOON + days(1)) == Band(20.0, 17.0, 22.0)


def test_one_limit_given_leaves_the_other_to_the_kind() -> None:
    assert band_at(stage("mash", target_c=67, low_c=66), NOON, NOON) == Band(67.0, 66.0, 68.5)
    assert band_at(stage("mash", target_c=67, band="relative", high_c=3), NOON, NOON) == Band(
        67.0, 65.5, 70.0
    )


def test_a_crash_may_go_below_freezing_water_only_when_told() -> None:
    assert band_at(stage("crash", target_c=1), NOON, NOON) == Band(1.0, 0.0, 3.0)
    assert band_at(stage("crash", target_c=-0.5, low_c=-1), NOON, NOON) == Band(-0.5, -1.0, 1.5)


def test_a_boil_follows_the_boiling_point_of_the_place() -> None:
    assert band_at(stage("boil"), NOON, NOON) == Band(100.0, 98.0, None)
    assert band_at(stage("boil"), NOON, NOON, boiling_c=95.0) == Band(95.0, 93.0, None)
    assert band_at(stage("boil", target_c=99), NOON, NOON, boiling_c=95.0) == Band(99.0, 93.0, None)
    assert band_at(stage("boil", low_c=90), NOON, NOON) == Band(100.0, 90.0, None)
    assert band_at(stage("boil", band="relative", low_c=-4), NOON, NOON, boiling_c=95.0) == Band(
        95.0, 91.0, None
    )


def test_a_hold_has_a_band_only_when_given_one() -> None:
    assert band_at(stage("hold"), NOON, NOON) == Band(None, None, None)
    assert band_at(stage("hold", low_c=10, high_c=30), NOON, NOON) == Band(None, 10.0, 30.0)


@pytest.mark.parametrize(
    "temp_c, inside", [(65.4, False), (65.5, True), (67, True), (68.5, True), (68.6, False)]
)
def test_the_limits_belong_to_the_band(temp_c: float, inside: bool) -> None:
    assert Band(67.0, 65.5, 68.5).holds(temp_c) is inside


def test_a_band_without_limits_holds_everything() -> None:
    assert Band(None, None, None).holds(-40.0)
    assert not Band(None, None, 20.0).holds(20.1)
    assert not Band(None, 20.0, None).holds(19.9)


@given(st.floats(2, 45), st.floats(2, 45), st.floats(60, 1e6))
@settings(max_examples=50, deadline=None)
def test_the_band_does_not_jump_where_a_ramp_begins_or_ends(
    from_c: float, to_c: float, over_s: float
) -> None:
    moving = stage("primary", target_c={"from": from_c, "to": to_c, "over_s": over_s})
    end = NOON + seconds(over_s)
    a_moment = seconds(0.001)
    most_c = abs(to_c - from_c) / over_s * 0.002 + 1e-6

    for edge in (NOON, end):
        before = band_at(moving, NOON, edge - a_moment)
        after = band_at(moving, NOON, edge + a_moment)
        assert before.target_c == pytest.approx(after.target_c, abs=most_c)
        assert before.low_c == pytest.approx(after.low_c, abs=most_c)
        assert before.high_c == pytest.approx(after.high_c, abs=most_c)


@given(st.floats(2, 45), st.floats(2, 45), st.floats(1, 1e6), st.floats(-1e6, 2e6))
@settings(max_examples=50, deadline=None)
def test_a_ramp_never_leaves_its_two_ends(from_c: float, to_c: float, over_s: float, after_s: float) -> None:
    moving = stage("primary", target_c={"from": from_c, "to": to_c, "over_s": over_s})

    target_c = target_at(moving, NOON, NOON + seconds(after_s))

    assert target_c is not None
    assert min(from_c, to_c) - 1e-9 <= target_c <= max(from_c, to_c) + 1e-9
