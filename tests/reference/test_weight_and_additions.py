"""Weight lost, additions and the refractometer against Balling's balance and printed indices."""

import itertools

import pytest

from service.brewing.additions import addition
from service.brewing.refractometer import BRIX_PER_ALCOHOL, refractometer
from service.brewing.weight import gas_made_g, weight_loss


def test_five_litres_from_1_045_to_1_010_make_174_g_of_gas() -> None:
    # Computed from Balling's balance.
    assert gas_made_g(og=1.045, sg=1.010, volume_l=5) == pytest.approx(174, abs=1)


def test_the_mass_lost_leads_back_to_1_010() -> None:
    # 174 g made, some 9 g of it still dissolved at 20 C (computed).
    answer = weight_loss(og=1.045, volume_l=5, lost_g=174 - 8.4, temp_c=20)

    assert answer.dissolved_g == pytest.approx(9, abs=1)
    assert answer.gas_made_g == pytest.approx(174, abs=0.5)
    assert answer.sg == pytest.approx(1.010, abs=2e-4)


def test_a_point_is_about_5_g_in_five_litres() -> None:
    # Computed from Balling's balance.
    grams = gas_made_g(og=1.045, sg=1.020, volume_l=5) - gas_made_g(og=1.045, sg=1.021, volume_l=5)

    assert grams == pytest.approx(5, abs=0.2)


def test_100_g_of_sucrose_in_five_litres_add_7_7_points() -> None:
    # Computed from the density of sucrose solutions: made up to 5 L, of which the sugar takes 62 ml.
    answer = addition(volume_l=5 - 0.062, sg=1.0, mass_g=100)

    assert (answer.og_equivalent - 1) * 1000 == pytest.approx(7.7, abs=0.05)


# Refractive indices at 20 C, CRC Handbook, from memory: percent of mass and index.
ETHANOL = {4.0: 1.3354, 5.0: 1.3360, 10.0: 1.3395}
SUCROSE = {0.0: 1.3330, 1.0: 1.3344, 5.0: 1.3403, 10.0: 1.3479}


def brix_of(index: float) -> float:
    points = sorted(SUCROSE.items())
    for (low, n_low), (high, n_high) in itertools.pairwise(points):
        if index <= n_high:
            return low + (high - low) * (index - n_low) / (n_high - n_low)
    raise ValueError(index)


@pytest.mark.parametrize("percent", [4.0, 5.0, 10.0])
def test_a_percent_of_ethanol_shows_as_0_43_brix(percent: float) -> None:
    assert brix_of(ETHANOL[percent]) / percent == pytest.approx(BRIX_PER_ALCOHOL, abs=0.03)


def test_the_refractometer_finds_the_beer_of_the_computed_chain() -> None:
    # 1.045 to 1.010: OE 11.193, RE 4.122 and 3.633 % alcohol by Balling; wort factor 1.04.
    beer_brix = 1.04 * (4.122 + BRIX_PER_ALCOHOL * 3.633)

    answer = refractometer(og_brix=1.04 * 11.193, brix=beer_brix, wort_factor=1.04)

    assert answer.sg == pytest.approx(1.010, abs=5e-5)
    assert answer.low < 1.0085 < answer.high
