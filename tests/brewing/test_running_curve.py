"""Where the present bath's curve begins: simulated baths, changed and stirred, with the part's steps."""

import math
import random
from datetime import UTC, datetime, timedelta

import pytest

from service.brewing.cooling import CoolingSample
from service.brewing.running_curve import toward_present_bath

START = datetime(2026, 3, 7, 14, 0, tzinfo=UTC)


def fall(
    first_c: float, bath_c: float, tau_s: float, minutes: float, begins_s: float = 0.0, seed: int = 1
) -> list[CoolingSample]:
    """Newton's law every 15 s, with the sixteenths of a degree of the part and a little noise."""
    chance = random.Random(seed)
    found = []
    for n in range(int(minutes * 4)):
        temp_c = bath_c + (first_c - bath_c) * math.exp(-15 * n / tau_s) + chance.gauss(0, 0.03)
        found.append(CoolingSample(START + timedelta(seconds=begins_s + 15 * n), round(temp_c * 16) / 16))
    return found


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("tau_s", [300.0, 1200.0, 7200.0])
def test_one_bath_is_one_curve(tau_s: float, seed: int) -> None:
    samples = fall(95, 18, tau_s, 50, seed=seed)

    assert toward_present_bath(samples) == samples


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(("fresh_c", "tau_s"), [(12, 1500.0), (4, 1500.0), (45, 500.0)])
def test_a_changed_bath_begins_a_new_curve(fresh_c: float, tau_s: float, seed: int) -> None:
    before = fall(98, 40, 1500, 20, seed=seed)
    after = fall(before[-1].temp_c, fresh_c, tau_s, 12, begins_s=1200, seed=seed + 100)

    begins = toward_present_bath([*before, *after])[0].at

    # found in blocks of two minutes: never before the one in which it happened, at most one later
    assert timedelta(seconds=-120) <= begins - after[0].at <= timedelta(seconds=240)


def test_the_order_of_the_samples_does_not_matter() -> None:
    before = fall(98, 40, 1500, 20)
    samples = [*before, *fall(before[-1].temp_c, 8, 1500, 12, begins_s=1200)]

    assert toward_present_bath(samples[::-1]) == toward_present_bath(samples)


def test_nothing_stays_nothing() -> None:
    assert toward_present_bath([]) == []
