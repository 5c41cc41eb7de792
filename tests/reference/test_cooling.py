"""Cooling against Newton's law and an independent solver of the two-body equations."""

import math
from datetime import UTC, datetime, timedelta

import pytest
from scipy.integrate import solve_ivp

from service.brewing.chilling import water_change
from service.brewing.cooling import CoolingSample, cooling

START = datetime(2026, 1, 10, 15, 0, tzinfo=UTC)


def test_beer_at_25_c_in_a_room_of_18_c_is_at_21_060_c_after_six_hours() -> None:
    # Newton's law with a time constant of 7.25 h, computed: 18 + 7 exp(-6/7.25) = 21.060.
    samples = [
        CoolingSample(START + timedelta(minutes=15 * n), 18 + 7 * math.exp(-n / 4 / 7.25)) for n in range(17)
    ]

    answer = cooling(samples=samples, bath_c=18, targets_c=[21.060])

    at = answer.targets[0].at
    assert at is not None
    assert (at - START).total_seconds() == pytest.approx(6 * 3600, rel=2e-3)
    assert answer.tau_s == pytest.approx(7.25 * 3600, rel=2e-3)


def test_wort_and_bath_follow_the_solved_equations() -> None:
    volume_l, bath_l, tau_s = 5.0, 12.0, 600.0
    wort, bath = 5.216 * 3.95, 12 * 0.998207 * 4.18

    def exchange(_: float, y: list[float]) -> list[float]:
        watts = wort / tau_s * (y[0] - y[1])
        return [-watts / wort, watts / bath]

    solved = solve_ivp(exchange, (0, 4000), [90, 15], dense_output=True, rtol=1e-9, atol=1e-9)
    target_c = float(solved.sol(900)[0])

    answer = water_change(
        volume_l=volume_l,
        og=1.045,
        wort_c=90,
        target_c=target_c,
        bath_l=bath_l,
        bath_c=15,
        fresh_c=15,
        tau_s=tau_s,
    )

    assert answer.keep_s == pytest.approx(900, rel=1e-3)
    assert answer.settles_at_c == pytest.approx((wort * 90 + bath * 15) / (wort + bath), abs=0.01)
