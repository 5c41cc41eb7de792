"""Signs of heat, cold and exchanged probes that nobody mentioned."""

import math
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from service.thermal import guards
from service.thermal.bins import Bins, binned
from service.thermal.inputs import Trace
from tests.thermal.build import PITCHED, batch


def even(beer: list[float], air: list[float]) -> Bins:
    """Bins of half an hour, as if they came from a sample a minute."""
    minutes = tuple(30.0 * k + 15 for k in range(len(beer)))
    made = binned(
        Trace(PITCHED, minutes, tuple(beer)), Trace(PITCHED, minutes, tuple(air)), PITCHED, len(beer) / 2
    )
    assert made is not None
    return replace(made, interval_min=1.0)


def fine(beer: list[float], air: list[float]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    return np.arange(len(beer)) / 6, np.array(beer), np.array(air)


def test_a_thermostats_teeth_are_seen() -> None:
    beer = [20 + 0.25 * abs((k % 12) - 6) / 3 for k in range(96)]

    sign = guards.heater(even(beer, [18.0] * 96), None)

    assert sign is not None
    assert sign.kind == "heater"
    assert sign.hour <= 26


def test_rare_samples_ask_for_larger_teeth() -> None:
    beer = [20 + 0.25 * abs((k % 12) - 6) / 3 for k in range(96)]
    bins = replace(even(beer, [18.0] * 96), interval_min=30.0)

    assert guards.heater(bins, None) is None


def test_small_fast_teeth_are_seen_in_ten_minutes() -> None:
    beer = [20 + 0.15 * abs((k % 6) - 3) for k in range(6 * 30)]

    sign = guards.heater(even([20.0] * 60, [18.0] * 60), fine(beer, [18.0] * 180))

    assert sign is not None


def test_teeth_of_the_rooms_own_heating_are_not_the_vessels() -> None:
    air = [18 + 0.8 * abs((k % 8) - 4) / 4 for k in range(96)]
    beer = [20 + 0.3 * (a - 18) for a in air]

    assert guards.heater(even(beer, air), None) is None


@pytest.mark.parametrize("volume_l", [4.5, 20.0])
def test_an_undisturbed_fermentation_shows_no_sign(volume_l: float) -> None:
    made = batch(hours=168, volume_l=volume_l, swing_c=1.5)
    bins = binned(
        Trace(PITCHED, tuple(range(168 * 60)), made.beer_c),
        Trace(PITCHED, tuple(range(168 * 60)), made.air_c),
        PITCHED,
        168,
    )
    assert bins is not None

    assert guards.heater(bins, None) is None
    assert guards.forced_cooling(bins, volume_l) is None
    assert guards.exchanged(bins) is None
    assert guards.sudden_cold(bins) is None


def test_a_fall_faster_than_the_room_allows_is_forced() -> None:
    beer = [20.0] * 60 + [4 + 16 * math.exp(-k / 20) for k in range(40)]

    sign = guards.forced_cooling(even(beer, [19.0] * 100), 5.0)

    assert sign is not None
    assert 30 < sign.hour < 38


def test_cooling_down_to_the_room_in_the_first_hours_is_not_forced() -> None:
    beer = [18 + 7 * math.exp(-k / 15) for k in range(100)]

    assert guards.forced_cooling(even(beer, [18.0] * 100), 5.0) is None


def test_sudden_cold_of_the_air_is_seen_within_hours() -> None:
    sign = guards.sudden_cold(even([20.0] * 120, [19.0] * 80 + [6.0] * 40))

    assert sign is not None
    assert 40 <= sign.hour <= 42


def test_probes_exchanged_show_by_the_slower_one() -> None:
    air = [18 + 2 * math.sin(k / 7.6) + (0.3 if k % 9 == 0 else 0.0) for k in range(96)]
    beer = [18.5 + 0.3 * math.sin(k / 7.6 - 1) for k in range(96)]

    assert guards.exchanged(even(air, beer)) is not None
    assert guards.exchanged(even(beer, air)) is None


def test_bins_bridge_gaps_and_mark_them() -> None:
    minutes = [m for m in range(48 * 60) if not 600 < m < 900]
    trace = Trace(PITCHED, tuple(minutes), tuple(20.0 + m / 1000 for m in minutes))

    bins = binned(trace, trace, PITCHED, 48)

    assert bins is not None
    assert (~bins.present).sum() == 9
    assert bins.beer == pytest.approx(20.0 + (bins.hours * 60) / 1000, abs=0.03)
    assert bins.longest_gap_h == pytest.approx(5.0)


def test_the_days_before_pitching_teach_the_slow_surroundings() -> None:
    minutes = tuple(range(-48 * 60, 24 * 60, 5))
    air = Trace(PITCHED, tuple(map(float, minutes)), tuple(15.0 if m < 0 else 20.0 for m in minutes))
    beer = Trace(PITCHED, tuple(range(24 * 60)), (19.0,) * (24 * 60))

    bins = binned(beer, air, PITCHED, 24)

    assert bins is not None
    assert bins.thirty[0] < 15.5
    assert bins.six[-1] > 19.8


def test_too_little_gives_no_bins() -> None:
    empty = Trace(PITCHED, (), ())
    short = Trace(PITCHED + timedelta(hours=1), (0.0, 1.0), (20.0, 20.0))

    assert binned(empty, empty, PITCHED, 48) is None
    assert binned(short, short, PITCHED, 48) is None
    assert binned(short, short, PITCHED, 1) is None
