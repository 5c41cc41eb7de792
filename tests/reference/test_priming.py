"""Priming sugars against stoichiometry, Balling's balance and the bench rules of the trade."""

import pytest

from service.brewing.alcohol import CO2_PER_EXTRACT, real_extract_plato
from service.brewing.priming import VOLUMES_PER_POINT, Bottle, priming
from service.brewing.sucrose import density_from_sg, plato_from_sg
from service.brewing.sugars import SUGARS, Sugar

# Computed from formula masses: grams per litre for one volume.
GRAMS_PER_L_FOR_ONE_VOLUME = (
    (Sugar.SUCROSE, 3.844),
    (Sugar.GLUCOSE, 4.046),
    (Sugar.GLUCOSE_MONOHYDRATE, 4.451),
)


@pytest.mark.parametrize(("sugar", "expected"), GRAMS_PER_L_FOR_ONE_VOLUME)
def test_grams_for_one_volume_follow_from_the_formula_masses(sugar: Sugar, expected: float) -> None:
    two = priming(volume_l=5, warmest_c=20, wanted_volumes=2.0, sugar=sugar)
    one = priming(volume_l=5, warmest_c=20, wanted_volumes=1.0, sugar=sugar)

    assert two.grams_per_l is not None
    assert one.grams_per_l is not None
    assert two.grams_per_l - one.grams_per_l == pytest.approx(expected, rel=0.003)


def test_a_gram_of_sucrose_gives_0_5143_g_of_gas() -> None:
    assert SUGARS[Sugar.SUCROSE].co2_g_per_g == pytest.approx(0.5143, rel=0.003)


def test_balling_s_yield_needs_4_27_g_and_with_inversion_4_06() -> None:
    # Balling counts per gram of extract; sucrose gains 5.3 % by inversion (342.3 + 18.0 over 342.3).
    by_balling = 1.9768 / CO2_PER_EXTRACT
    with_inversion = by_balling / (360.312 / 342.297)

    low = priming(volume_l=5, warmest_c=20, wanted_volumes=2.4).volumes

    assert by_balling == pytest.approx(4.27, abs=0.005)
    assert with_inversion == pytest.approx(4.06, abs=0.005)
    assert low.low < 0.846 + (2.4 - 0.846) * 3.844 / with_inversion < low.value


def test_each_point_left_is_worth_about_half_a_volume() -> None:
    # Balling's balance on one point near the end of a 1.045 wort.
    oe = plato_from_sg(1.045)
    fallen = real_extract_plato(oe, plato_from_sg(1.011)) - real_extract_plato(oe, plato_from_sg(1.010))
    g_per_l = fallen / 100 * density_from_sg(1.010) * CO2_PER_EXTRACT

    assert g_per_l / 1.9768 == pytest.approx(VOLUMES_PER_POINT, abs=0.015)


def test_half_a_level_teaspoon_in_half_a_litre() -> None:
    # Common practice; the teaspoon of 4.2 g is from memory.
    answer = priming(volume_l=5, warmest_c=20, wanted_volumes=1.945, bottles=[Bottle(0.5, 10)])

    assert answer.grams_per_l == pytest.approx(4.2, abs=0.05)
    assert answer.volumes.value - answer.residual_volumes == pytest.approx(1.09, abs=0.02)
    assert answer.bottles[0].teaspoons == pytest.approx(0.5, abs=0.01)


def test_the_bench_rule_of_4_g_lies_inside_the_interval() -> None:
    # Common practice: 4 g of table sugar in a litre for a volume.
    answer = priming(volume_l=5, warmest_c=20, wanted_volumes=2.4)

    grams_per_volume = 4.0
    assert answer.grams_per_l is not None
    by_bench_rule = answer.residual_volumes + answer.grams_per_l / grams_per_volume
    assert answer.volumes.low < by_bench_rule < answer.volumes.high


def test_four_points_too_early_is_two_volumes_too_many() -> None:
    answer = priming(volume_l=5, warmest_c=20, wanted_volumes=2.4, points_left=4)

    assert answer.refused is not None
    assert answer.volumes.value == pytest.approx(0.846 + 2.0, abs=0.05)
