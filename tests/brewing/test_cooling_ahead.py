"""The cooling curve carried on: against Newton's law itself."""

import math
import random
from datetime import UTC, datetime, timedelta

import pytest

from service.brewing.cooling import CoolingSample
from service.brewing.cooling_ahead import cooling_ahead
from service.errors import InvalidInputError

BEGAN = datetime(2026, 10, 3, 18, tzinfo=UTC)


def newton(minutes: float, tau_min: float = 25.0, bath_c: float = 14.0, from_c: float = 95.0) -> float:
    return bath_c + (from_c - bath_c) * math.exp(-minutes / tau_min)


def seen(count: int, seed: int = 1, noise_c: float = 0.05) -> list[CoolingSample]:
    rng = random.Random(seed)
    return [
        CoolingSample(BEGAN + timedelta(minutes=m), newton(m) + rng.gauss(0, noise_c)) for m in range(count)
    ]


@pytest.mark.parametrize("bath_c", [14.0, None])
def test_it_goes_on_as_newton_says(bath_c: float | None) -> None:
    found = cooling_ahead(samples=seen(31), ahead_s=(0.0, 600.0, 1800.0), bath_c=bath_c)

    for minutes, temp in zip((30, 40, 60), found.temps_c, strict=True):
        assert temp.low <= newton(minutes) <= temp.high
        assert temp.value == pytest.approx(newton(minutes), abs=0.5 if bath_c else 2.0)


def test_an_unknown_bath_leaves_the_end_open() -> None:
    known, unknown = (
        cooling_ahead(samples=seen(12), ahead_s=(3600.0,), bath_c=bath).temps_c[0] for bath in (14.0, None)
    )

    assert unknown.high - unknown.low > 2 * (known.high - known.low)


def test_its_intervals_hold() -> None:
    held = [
        temp.low <= newton(50) <= temp.high
        for seed in range(40)
        for temp in cooling_ahead(samples=seen(20, seed), ahead_s=(31 * 60.0,)).temps_c
    ]

    assert sum(held) >= 34


def test_too_little_cooling_is_refused() -> None:
    with pytest.raises(InvalidInputError):
        cooling_ahead(samples=seen(3), ahead_s=(60.0,))
