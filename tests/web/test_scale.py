"""Where things lie on a strip."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from tests.web import fakes
from tests.web.fakes import NOON, H
from web.scale import Strip, scale_ends, strip, ticks
from web.views import BandView, Freshness, TrackPoint, VesselView
from web.words import Taste

TASTE = Taste()


def vessel(temp_c: float | None, band: BandView | None = None, *trail: TrackPoint) -> VesselView:
    fresh = Freshness.FRESH if temp_c is not None else Freshness.NEVER
    at = NOON if temp_c is not None else None
    return VesselView("v", "V", "fermenter", fresh, temp_c, at, band, trail=trail)


def drawn(view: VesselView, taste: Taste = TASTE) -> Strip:
    found = strip(view, taste, NOON)
    assert found is not None
    return found


@given(
    temp=st.floats(-10, 110),
    target=st.floats(-5, 100),
    half=st.floats(0.1, 6),
    units=st.sampled_from(["C", "F"]),
)
@example(temp=-1e-75, target=7.0, half=0.5, units="C")
def test_band_and_target_always_lie_on_the_scale_and_the_mark_never_off_it(
    temp: float, target: float, half: float, units: str
) -> None:
    found = drawn(vessel(temp, BandView(target, target - half, target + half)), Taste(units=units))

    assert found.low_c <= target - half
    assert target + half <= found.high_c
    assert found.mark is not None
    assert 0 <= found.mark <= 100
    assert (found.beyond != 0) == (not found.low_c <= temp <= found.high_c)


@given(low=st.integers(-20, 200), width=st.integers(2, 120))
def test_a_scale_has_two_to_nine_lettered_marks_on_it(low: int, width: int) -> None:
    lettered = [tick for tick in ticks(low, low + width, TASTE) if tick.label]

    assert 2 <= len(lettered) <= 9 or width < 3
    assert all(0 <= tick.x <= 100 for tick in lettered)


def test_it_is_linear_from_end_to_end() -> None:
    found = drawn(vessel(20.0, BandView(20.0, 18.5, 21.5)))

    assert (found.low_c, found.high_c) == (18.0, 22.0)
    assert [found.x(t) for t in (18.0, 20.0, 22.0)] == [0.0, 50.0, 100.0]
    assert (found.band_low, found.target, found.band_high) == (12.5, 50.0, 87.5)


def test_a_reading_far_from_the_band_stands_at_the_edge_and_says_so() -> None:
    found = drawn(vessel(60.0, BandView(20.0, 18.0, 22.0)))

    assert (found.mark, found.beyond) == (100.0, 1)


def test_a_band_open_on_one_side_reaches_to_the_end() -> None:
    found = drawn(vessel(4.0, BandView(2.0, None, 4.0)))

    assert found.band is not None
    assert found.band.start == 0.0
    assert found.band_low is None


def test_nothing_known_draws_nothing() -> None:
    assert strip(vessel(None), TASTE, NOON) is None
    assert scale_ends(vessel(None), TASTE) is None


def test_a_gap_cuts_the_line_and_is_hatched_over_its_whole_length() -> None:
    trail = [TrackPoint(NOON - n * H, None if n in (5, 6) else 20.0) for n in range(8, 0, -1)]

    wake = drawn(vessel(20.0, None, *trail)).wake

    assert len(wake.lines) == 2
    (gap,) = wake.gaps
    assert gap.start == pytest.approx(100 * 4 / 12, abs=0.1)
    assert gap.length == pytest.approx(100 * 3 / 12, abs=0.1)


def test_a_line_reaches_up_to_the_mark_only_while_there_is_a_reading() -> None:
    trail = (TrackPoint(NOON - H, 19.0), TrackPoint(NOON - H / 2, 19.5))

    read = drawn(vessel(20.0, None, *trail)).wake
    silent = drawn(replace(vessel(20.0, None, *trail), freshness=Freshness.SILENT, at=NOON - H / 2)).wake

    assert read.lines[0].endswith(",0")
    assert not silent.lines[0].endswith(",0")
    assert silent.gaps[0].start == 0.0
    assert silent.gaps[0].length == pytest.approx(100 / 24, abs=0.1)


def test_a_band_that_changed_is_drawn_as_it_was() -> None:
    trail = [TrackPoint(NOON - n * H, 20.0, 18.0 if n > 4 else 19.0, 21.0) for n in range(8, -1, -1)]

    (area,) = drawn(vessel(20.0, BandView(20.0, 19.0, 21.0), *trail)).wake.fairways

    xs = {point.split(",")[0] for point in area.split()}
    assert len(xs) == 3


def test_points_older_than_the_wake_are_left_out() -> None:
    trail = (TrackPoint(NOON - timedelta(hours=13), 2.0), TrackPoint(NOON - H, 20.0), TrackPoint(NOON, 20.0))

    (line,) = drawn(vessel(20.0, None, *trail)).wake.lines

    assert all(0 <= int(point.split(",")[1]) <= 1000 for point in line.split())


def test_hours_are_whole_hours_of_the_brewers_clock() -> None:
    found = drawn(fakes.larger(), Taste(timezone="Asia/Kolkata")).wake

    assert [line.label for line in found.times] == ["06:00", "09:00", "12:00", "15:00"]


def test_the_way_ahead_begins_at_now_and_widens() -> None:
    ahead = drawn(fakes.larger()).ahead

    assert ahead is not None
    assert ahead.lines[0].split()[0].endswith(",1000")
    ys = [int(point.split(",")[1]) for point in ahead.lines[0].split()]
    assert ys == sorted(ys, reverse=True)
