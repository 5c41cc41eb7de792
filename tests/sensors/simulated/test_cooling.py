"""With nothing fermenting the twin must cool as bodies cool."""

from datetime import timedelta
from math import exp, sqrt

import pytest

from sensors.simulated.kitchen import Kitchen
from sensors.simulated.scenario import Beer, Vessel
from tests.sensors.simulated.twins import START, WATER, still

HEAT_CAPACITY_J_PER_K = 3950.0 * 5.0 * 0.998207


def bucket(outer_w_per_k: float, wall_kj_per_k: float = 0.001) -> Vessel:
    return Vessel(
        wall_kj_per_k=wall_kj_per_k,
        inner_w_per_k=20.0,
        outer_w_per_k=outer_w_per_k,
        floor_w_per_k=0.0,
        calm_w_per_k=500.0,
        working_w_per_k=500.0,
    )


def conductance(vessel: Vessel) -> float:
    return 1.0 / (1.0 / vessel.inner_w_per_k + 1.0 / vessel.outer_w_per_k)


@pytest.mark.parametrize("outer_w_per_k", [0.3, 0.5, 1.1, 3.0])
@pytest.mark.parametrize("begins_c", [4.0, 25.0, 40.0])
def test_a_vessel_without_heat_follows_newtons_law_of_cooling(outer_w_per_k: float, begins_c: float) -> None:
    vessel = bucket(outer_w_per_k)
    kitchen = Kitchen(still(Beer("Plain water", 5.0, 1.0, pitched_c=begins_c), vessel), seed=1)
    tau_s = HEAT_CAPACITY_J_PER_K / conductance(vessel)

    for hours in (0.5, 1.0, 6.0, 24.0, 100.0):
        beer_c = kitchen.at(START + timedelta(hours=hours)).beer_c

        assert beer_c == pytest.approx(18.0 + (begins_c - 18.0) * exp(-hours * 3600.0 / tau_s), abs=0.01)


def test_it_gives_the_worked_figure_for_a_time_constant_of_seven_and_a_quarter_hours() -> None:
    # Newton's law by plain arithmetic: 18 + 7 exp(-6/7.25) = 21.060.
    through = HEAT_CAPACITY_J_PER_K / (7.25 * 3600.0)
    vessel = bucket(outer_w_per_k=1.0 / (1.0 / through - 1.0 / 20.0))

    beer_c = Kitchen(still(WATER, vessel), seed=1).at(START + timedelta(hours=6)).beer_c

    assert beer_c == pytest.approx(21.060, abs=0.01)


def test_a_heavy_wall_cools_as_two_bodies_in_a_row_do() -> None:
    # Closed form of two coupled linear bodies: two exponentials with the eigenvalues of the flows.
    vessel = bucket(outer_w_per_k=1.5, wall_kj_per_k=12.0)
    kitchen = Kitchen(still(WATER, vessel), seed=1)
    c1, c2, inner, outer = HEAT_CAPACITY_J_PER_K, 12_000.0, 20.0, 1.5
    a, b, c, d = -inner / c1, inner / c1, inner / c2, -(inner + outer) / c2
    root = sqrt((a - d) ** 2 / 4 + b * c)
    slow, fast = (a + d) / 2 + root, (a + d) / 2 - root
    beer, wall = 7.0, 7.0 * inner / (inner + outer)
    slope = a * beer + b * wall
    of_slow = (slope - fast * beer) / (slow - fast)

    for minutes in (1, 10, 30, 120, 600):
        expected = of_slow * exp(slow * minutes * 60) + (beer - of_slow) * exp(fast * minutes * 60)

        assert kitchen.at(START + timedelta(minutes=minutes)).beer_c == pytest.approx(18 + expected, abs=0.01)


def test_it_ends_at_the_temperature_of_its_room_and_sooner_on_a_floor_that_takes_heat() -> None:
    vessel = bucket(outer_w_per_k=1.1)
    warm_floor = Vessel(
        inner_w_per_k=20.0, outer_w_per_k=1.1, floor_w_per_k=0.5, calm_w_per_k=500.0, working_w_per_k=500.0
    )
    kitchen, on_floor = Kitchen(still(WATER, vessel), 1), Kitchen(still(WATER, warm_floor), 1)

    after, after_on_floor = (k.at(START + timedelta(days=5)) for k in (kitchen, on_floor))

    assert after.beer_c == pytest.approx(18.0, abs=1e-3)
    assert after_on_floor.beer_c == pytest.approx(18.0, abs=1e-3)
    assert on_floor.at(START + timedelta(hours=6)).beer_c < kitchen.at(START + timedelta(hours=6)).beer_c
