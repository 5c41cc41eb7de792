"""Habit, forecast, and what it says of the band: against closed forms."""

import math
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.thermal import forecast as f
from service.thermal.habit import learned
from service.thermal.inputs import VesselPrior
from service.thermal.results import ThermalFacts

NOW = datetime(2026, 5, 4, 9, tzinfo=UTC)
PLAIN = f.Coefficients(7.25, 0.1, 0.0, 0.1, (), 0.0)


def test_it_cools_as_newton_says() -> None:
    # 25 C in an 18 C room, 7.25 h, after 6 h: 21.060 C (closed form).
    course = f.run(PLAIN, 25.0, [18.0] * 25, 0.0)

    assert course[24] == pytest.approx(21.060, abs=0.001)


def test_steady_heat_holds_it_above_the_room() -> None:
    warm = f.Coefficients(7.0, 0.1, 0.0, 0.1, (0.2,) * 400, 0.1)

    assert f.run(warm, 18.0, [18.0] * 600, 0.0)[-1] == pytest.approx(18 + 0.2 * 7.0, abs=0.01)


def test_the_unexplained_rate_is_found_and_fades() -> None:
    airs = [18.0] * 12
    beers = [20.0 + 0.1 * k for k in range(12)]

    rate = f.unexplained_kh(PLAIN, beers, airs)

    mean = sum(beers[-6:]) / 6
    assert rate == pytest.approx(0.1 + (mean - 18.0) / 7.25, abs=1e-9)
    assert f.unexplained_kh(PLAIN, [None] * 12, airs) == 0.0
    assert f.unexplained_kh(PLAIN, [20.0, 20.1, 20.2], [18.0] * 3) == 0.0


def test_it_needs_no_estimate_before_pitching() -> None:
    beers = [18 + 7 * math.exp(-k / 7.25) for k in range(8)]

    points = f.forecast(NOW, 9.0, beers, [18.0] * 48, PLAIN)

    wanted = 18 + 7 * math.exp(-(7.5 + 6) / 7.25)
    assert points[24].temp_c == pytest.approx(wanted, abs=0.15)
    assert points[-1].at == NOW + timedelta(hours=48)


def test_the_interval_holds_the_middle_and_grows() -> None:
    airs = [18 + math.sin(k / 3.8) for k in range(72)]
    points = f.forecast(NOW, 9.0, [19.0] * 12, airs, PLAIN)

    widths = [p.high90_c - p.low90_c for p in points]
    assert all(p.low90_c <= p.temp_c <= p.high90_c for p in points)
    assert widths[-1] > widths[20] > widths[0] > 0


def test_heat_that_is_unsure_later_on_widens_the_interval_there() -> None:
    airs, beers = [18.0] * 24, [19.0] * 24
    sure = f.Coefficients(7.25, 0.1, 0.0, 0.1, (0.1,) * 60, 0.0, 0.02, (0.0,) * 60)
    unsure = f.Coefficients(7.25, 0.1, 0.0, 0.1, (0.1,) * 60, 0.0, 0.02, (0.0,) * 6 + (0.1,) * 54)

    narrow, wide = (f.forecast(NOW, 9.0, beers, airs, c) for c in (sure, unsure))

    assert wide[12].high90_c == pytest.approx(narrow[12].high90_c)
    assert wide[96].high90_c > narrow[96].high90_c + 0.3


def test_without_air_it_says_the_same_as_now_ever_less_surely() -> None:
    points = f.forecast(NOW, 9.0, [19.0] * 12, [None] * 12, PLAIN)

    assert points[-1].temp_c == 19.0
    assert points[-1].high90_c - points[0].high90_c > 2.0
    assert f.forecast(NOW, 9.0, [None], [18.0] * 20, PLAIN) == []


def test_it_follows_the_rooms_daily_habit() -> None:
    airs = [18 + 2 * math.cos(2 * math.pi * (k % 24 - 16) / 24) for k in range(24 * 6)]

    habit = learned(airs, last_clock_h=23)

    assert habit is not None
    assert habit.at(16, 16) - habit.at(28, 4) == pytest.approx(4.0, abs=0.7)
    assert habit.level_c == pytest.approx(18.0, abs=0.05)
    assert habit.sd(48) > habit.sd(6)


def test_the_habit_bears_gaps_and_needs_three_hours() -> None:
    airs: list[float | None] = [18.0 + (k % 24) / 12 for k in range(96)]
    airs[30:40] = [None] * 10

    assert learned(airs, 12) is not None
    assert learned([18.0, 18.0, None], 12) is None


def test_an_open_door_is_forgotten() -> None:
    habit = learned([18.0] * 47 + [15.0], 12)

    assert habit is not None
    assert habit.at(0, 13) < 16.0
    assert habit.at(40, 5) == pytest.approx(18.0, abs=0.4)


def points(*temps: float) -> list[f.Point]:
    return [f.Point(NOW + timedelta(hours=k), t, t - 1, t + 1) for k, t in enumerate(temps)]


@pytest.mark.parametrize(
    "temps, left",
    [
        ((20, 21, 22, 23), (3, "warm")),
        ((20, 19, 17, 16), (2, "cold")),
        ((20, 20, 20, 20), None),
        ((23, 21, 20, 17), (0, "warm")),
    ],
)
def test_it_says_when_the_band_is_left(temps: tuple[float, ...], left: tuple[int, str] | None) -> None:
    bands = [f.Band(NOW, 18.0, 22.0)]

    found = f.leaves_band_at(points(*temps), bands)

    assert found == (None if left is None else (NOW + timedelta(hours=left[0]), left[1]))


def test_the_band_of_the_coming_stage_counts_from_its_start() -> None:
    bands = [f.Band(NOW, 18.0, 22.0), f.Band(NOW + timedelta(hours=2), 18.0, 20.5)]

    assert f.leaves_band_at(points(20, 21, 21, 21), bands) == (NOW + timedelta(hours=2), "warm")


def test_coefficients_come_from_the_best_that_is_known() -> None:
    facts = ThermalFacts(9.0, 0.1, 0.2, 0.1, 0.02, (5.7, 5.7), 0.2, 6.0)

    fitted = f.coefficients(5.0, 1.045, facts, None)

    assert fitted.heat_kh[0] == pytest.approx(0.957, abs=0.01)
    assert f.coefficients(5.0, 1.045, None, VesselPrior(6.0, 0.1)).tau_h == 6.0
    assert f.coefficients(5.0, None, None, None).tau_h == pytest.approx(6.5)


@given(st.floats(-5, 40), st.floats(-10, 40), st.floats(1, 60))
@settings(max_examples=40, deadline=None)
def test_beer_never_leaves_the_span_of_itself_and_the_room(start: float, air: float, tau: float) -> None:
    course = f.run(f.Coefficients(tau, 0.1, 0.0, 0.1, (), 0.0), start, [air] * 100, 0.0)

    assert min(start, air) - 1e-6 <= min(course)
    assert max(course) <= max(start, air) + 1e-6
