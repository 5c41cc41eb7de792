"""Exact steps: one long one must do what many short ones do."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sensors.simulated.network import Stepper

CAPACITIES = (9_000.0, 11_000.0, 500.0)
LINKS = {(0, 1): 4.0, (0, 2): 6.0, (1, 2): 6.0}
OUTLETS = (0.0, 0.2, 1.1)
temps = st.tuples(*[st.floats(-10.0, 100.0)] * 3)
flows = st.tuples(*[st.floats(-0.01, 0.01)] * 3)


@settings(max_examples=30, deadline=None)
@given(temps, flows, flows)
def test_a_long_step_is_many_short_ones(
    begins: tuple[float, ...], now: tuple[float, ...], later: tuple[float, ...]
) -> None:
    long, short = Stepper(CAPACITIES, LINKS, OUTLETS, 600.0), Stepper(CAPACITIES, LINKS, OUTLETS, 60.0)

    at_once, in_turn = long.ahead(begins, now, later), begins
    for step in range(10):
        ends = [
            [a + (b - a) * (step + more) / 10 for a, b in zip(now, later, strict=True)] for more in (0, 1)
        ]
        in_turn = short.ahead(in_turn, *ends)

    assert at_once == pytest.approx(in_turn, abs=1e-8)


@settings(max_examples=30, deadline=None)
@given(temps)
def test_bodies_that_lose_nothing_keep_their_heat(begins: tuple[float, ...]) -> None:
    closed = Stepper(CAPACITIES, LINKS, (0.0, 0.0, 0.0), 3600.0)

    after = closed.ahead(begins, (0.0, 0.0, 0.0), (0.0, 0.0, 0.0))

    heat = [sum(c * t for c, t in zip(CAPACITIES, moment, strict=True)) for moment in (begins, after)]
    assert heat[1] == pytest.approx(heat[0], rel=1e-9, abs=1e-3)
    assert max(after) - min(after) <= max(begins) - min(begins) + 1e-9


def test_a_wall_far_thinner_than_the_step_is_no_trouble() -> None:
    thin = Stepper((20_000.0, 0.5), {(0, 1): 20.0}, (0.0, 1.0), 60.0)

    beer, wall = thin.ahead((20.0, 80.0), (0.0, 0.0), (0.0, 0.0))

    assert wall == pytest.approx(20.0 * 20.0 / 21.0, abs=0.1)
    assert 19.9 < beer < 20.0
