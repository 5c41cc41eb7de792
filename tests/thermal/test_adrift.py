"""A liquid probe that has come off, and everything that only looks like it."""

import math

import pytest

from service.thermal.adrift import adrift
from tests.thermal.build import batch


def fell_off(
    gap: float, minute: int, tau_min: float = 4.0, hours: int = 3
) -> tuple[list[float], list[float]]:
    room, out = 18.0, []
    for m in range(hours * 60):
        since = max(0, m - minute)
        out.append(room + gap * (math.exp(-since / tau_min) if m > minute else 1.0))
    return out, [room] * len(out)


@pytest.mark.parametrize("gap", [2.0, -2.0, 4.0, 8.0])
@pytest.mark.parametrize("tau_min", [1.5, 4.0, 8.0])
def test_a_probe_that_fell_off_is_found_within_half_an_hour(gap: float, tau_min: float) -> None:
    liquid, air = fell_off(gap, 60, tau_min)

    when = next((m for m in range(30, 180) if adrift(liquid[:m], air[:m])), None)

    assert when is not None
    assert 60 < when <= 90


def test_it_says_what_happened() -> None:
    liquid, air = fell_off(3.0, 60)

    found = adrift(liquid[:85], air[:85])

    assert found is not None
    assert found.gap_c == pytest.approx(3.0, abs=0.2)
    assert "come off" in found.sentence


def test_no_false_call_in_thirty_days_of_fermentation() -> None:
    made = batch(hours=24 * 30, volume_l=4.5, swing_c=2.0)

    assert not any(
        adrift(made.beer_c[m - 90 : m], made.air_c[m - 90 : m]) for m in range(90, 24 * 30 * 60, 5)
    )


def cooled(air_to: float, air_tau_min: float, beer_tau_h: float) -> tuple[list[float], list[float]]:
    beer, air, liquid, rooms = 21.0, 19.0, [], []
    for m in range(600):
        if m > 100:
            air += (air_to - air) / air_tau_min
        beer += (air - beer) / beer_tau_h / 60
        liquid.append(beer)
        rooms.append(air)
    return liquid, rooms


@pytest.mark.parametrize(
    "air_to, air_tau_min", [(3.0, 20.0), (3.0, 1.0), (28.0, 1.0), (21.2, 1.0), (21.2, 30.0)]
)
def test_a_cold_crash_or_a_move_on_purpose_is_no_fall(air_to: float, air_tau_min: float) -> None:
    liquid, air = cooled(air_to, air_tau_min, 4.0)

    assert not any(adrift(liquid[max(0, m - 90) : m], air[max(0, m - 90) : m]) for m in range(20, 600))


def test_a_fridge_with_the_air_probe_left_in_the_room_is_no_fall() -> None:
    liquid = [21.0] * 60 + [4 + 17 * math.exp(-m / 150) for m in range(300)]

    assert not any(adrift(liquid[:m], [19.0] * m) for m in range(20, 360))


def test_small_gaps_and_gaps_in_the_record_are_not_judged() -> None:
    liquid, air = fell_off(1.0, 60)
    silent: list[float | None] = [*liquid[:85]]
    silent[-4:] = [None] * 4

    assert adrift(liquid[:85], air[:85]) is None
    assert adrift(silent, air[:85]) is None
    assert adrift([], []) is None
