import math
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sensors.calibration import (
    IDENTITY,
    CalibrationRefusedError,
    Point,
    accuracy_c,
    apply,
    fit,
    warnings,
)

FROM = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def test_no_calibration_changes_nothing_and_is_as_sure_as_the_part() -> None:
    assert apply(IDENTITY, 19.8125) == 19.8125
    assert IDENTITY.uncertainty_c == 0.5


def test_one_point_shifts_the_whole_scale() -> None:
    line = fit([Point(0.3125, 0.0)], FROM)

    assert (line.slope, line.offset_c, line.from_at) == (1.0, -0.3125, FROM)
    assert apply(line, 20.3125) == 20.0


def test_two_far_points_are_both_met() -> None:
    line = fit([Point(0.25, 0.0), Point(99.0, 99.5)], FROM)

    assert apply(line, 0.25) == pytest.approx(0.0, abs=1e-9)
    assert apply(line, 99.0) == pytest.approx(99.5, abs=1e-9)


def test_close_points_give_an_offset_only() -> None:
    line = fit([Point(18.0, 18.4), Point(37.9, 38.5)], FROM)

    assert line.slope == 1.0
    assert line.offset_c == pytest.approx(0.5)


def test_points_twenty_degrees_apart_give_a_slope() -> None:
    line = fit([Point(10.0, 10.0), Point(30.0, 30.2)], FROM)

    assert line.slope == pytest.approx(1.01)


def test_a_reference_may_be_taken_as_exact() -> None:
    assert fit([Point(0.0, 0.0, uncertainty_c=0.0)], FROM).offset_c == 0.0


def test_three_points_are_met_by_least_squares() -> None:
    # y = x + (0, 0.3, 0) at 0, 50, 100: by hand, slope 1 and offset 0.1.
    line = fit([Point(0.0, 0.0), Point(50.0, 50.3), Point(100.0, 100.0)], FROM)

    assert line.slope == pytest.approx(1.0)
    assert line.offset_c == pytest.approx(0.1)


def test_the_uncertainty_grows_with_the_references_and_with_what_the_line_leaves_over() -> None:
    good = fit([Point(0.0, 0.0)], FROM)
    vague = fit([Point(0.0, 0.0, uncertainty_c=0.5)], FROM)
    bent = fit([Point(0.0, 0.0), Point(50.0, 51.0), Point(100.0, 100.0)], FROM)

    # 1.645 * sqrt(0.1^2 + 0.0625^2/12 + 0.1^2), by hand
    assert good.uncertainty_c == pytest.approx(0.2345, abs=1e-4)
    assert vague.uncertainty_c > 0.8
    assert bent.uncertainty_c > 1.0


@pytest.mark.parametrize(
    "points, why",
    [
        ([], "1 to 3 points, not 0"),
        ([Point(0.0, 0.0)] * 4, "1 to 3 points, not 4"),
        ([Point(5.01, 0.0)], "more than 5 C off"),
        ([Point(0.0, 0.0), Point(94.0, 99.5)], "more than 5 C off"),
        ([Point(18.0, 14.5), Point(40.0, 43.0)], "would correct by more than 5 C at 0 C"),
        ([Point(0.0, 0.0), Point(25.0, 26.5)], "would correct by more than 5 C at 100 C"),
        ([Point(math.nan, 0.0)], "made of numbers"),
        ([Point(0.0, math.inf)], "made of numbers"),
        ([Point(0.0, 0.0, math.nan)], "made of numbers"),
        ([Point(0.0, 0.0, -0.1)], "cannot be negative"),
    ],
)
def test_points_that_make_no_calibration_are_refused_with_the_reason(points: list[Point], why: str) -> None:
    with pytest.raises(CalibrationRefusedError, match=why):
        fit(points, FROM)


def test_a_correction_of_just_five_degrees_is_taken() -> None:
    assert fit([Point(5.0, 0.0)], FROM).offset_c == -5.0


def test_a_naive_time_is_an_error() -> None:
    with pytest.raises(ValueError, match="time zone"):
        fit([Point(0.0, 0.0)], datetime(2026, 11, 25, 12, 0))  # noqa: DTZ001 - what is refused here


# DS18B20 datasheet: +/-0.5 C from -10 to +85 C, +/-2 C beyond.
@pytest.mark.parametrize(
    "temp_c, allowed_c", [(-10.1, 2.0), (-10.0, 0.5), (20.0, 0.5), (85.0, 0.5), (85.1, 2.0)]
)
def test_the_parts_accuracy_is_that_of_the_datasheet(temp_c: float, allowed_c: float) -> None:
    assert accuracy_c(temp_c) == allowed_c


def test_a_point_further_off_than_the_part_may_be_is_warned_of() -> None:
    points = [Point(0.75, 0.0), Point(98.0, 99.5)]

    (said,) = warnings(points, fit(points, FROM))

    assert "At 0.0 C the probe reads +0.75 C off" in said
    assert "within 0.5 C" in said


def test_a_point_off_the_line_is_warned_of() -> None:
    points = [Point(0.0, 0.0), Point(90.0, 91.5), Point(100.0, 100.0)]

    said = warnings(points, fit(points, FROM))

    assert any("The point at 91.5 C lies" in sentence for sentence in said)


def test_good_points_are_not_warned_of() -> None:
    points = [Point(0.5, 0.0), Point(97.6, 99.5)]

    assert warnings(points, fit(points, FROM)) == ()


near = st.floats(-5.0, 5.0)


@given(near, near)
def test_a_calibration_always_keeps_warmer_warmer(at_ice: float, at_boil: float) -> None:
    try:
        line = fit([Point(0.0, at_ice), Point(100.0, 100.0 + at_boil)], FROM)
    except CalibrationRefusedError:
        # Rounding may put a correction of exactly 5 C over the limit; nothing else is refused here.
        assert max(abs(at_ice), abs(at_boil)) > 4.999
        return

    assert line.slope > 0
    assert apply(line, 0.0) == pytest.approx(at_ice, abs=1e-9)
    assert apply(line, 100.0) == pytest.approx(100.0 + at_boil, abs=1e-9)
