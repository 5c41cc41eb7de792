"""Boiling points, mash temperatures and ice against IAPWS and the maltsters' figures."""

import pytest
from CoolProp.CoolProp import PropsSI
from iapws import IAPWS95
from iapws._iapws import _Ice

from service.brewing.boiling import air_pressure_hpa, boiling_point, shrinkage_share
from service.brewing.chilling import ice, ice_to_water_kj_per_kg
from service.brewing.mash import mash_lift, mash_temp_c, strike

# ISO 2533:1975, the standard atmosphere: altitude in m, pressure in hPa (from memory).
STANDARD_ATMOSPHERE = ((0, 1013.25), (500, 954.61), (1000, 898.75), (2000, 794.95), (3000, 701.09))


@pytest.mark.parametrize(("altitude_m", "expected_hpa"), STANDARD_ATMOSPHERE)
def test_air_pressure_is_that_of_the_standard_atmosphere(altitude_m: float, expected_hpa: float) -> None:
    assert air_pressure_hpa(altitude_m) == pytest.approx(expected_hpa, rel=3e-4)


@pytest.mark.parametrize("pressure_hpa", [500, 700, 850, 950, 1013.25, 1050, 1100])
def test_the_boiling_point_is_the_one_of_coolprop(pressure_hpa: float) -> None:
    by_coolprop_c = PropsSI("T", "P", pressure_hpa * 100, "Q", 0, "Water") - 273.15

    assert boiling_point(pressure_hpa=pressure_hpa).temp_c == pytest.approx(by_coolprop_c, abs=0.02)


def test_a_thousand_metres_up_water_boils_3_3_c_earlier() -> None:
    by_coolprop_c = PropsSI("T", "P", 89875, "Q", 0, "Water") - 273.15

    assert boiling_point(altitude_m=1000).temp_c == pytest.approx(by_coolprop_c, abs=0.03)


def test_boiling_wort_shrinks_by_what_water_does() -> None:
    hot = PropsSI("D", "T", 373.12, "P", 101400, "Water")
    cold = PropsSI("D", "T", 293.15, "P", 101325, "Water")

    assert shrinkage_share() == pytest.approx(1 - hot / cold, abs=2e-4)


def test_the_mash_ends_where_pauls_and_whites_say() -> None:
    # Pauls & Whites 1984/85, as quoted: malt 27 C, liquor 69 C, 2.68 hL for 100 kg.
    answer = strike(grain_kg=100, water_l=268, grain_c=27, mash_c=65.96)

    assert answer.water_c == pytest.approx(69.0, abs=0.02)
    assert mash_temp_c(grain_kg=100, water_l=268, grain_c=27, water_c=69) == pytest.approx(65.96, abs=0.01)


def test_a_mash_is_lifted_by_the_computed_hot_water() -> None:
    # Heat balance by hand: (0.40 x 1 + 3) x 4 / (95 - 66).
    answer = mash_lift(grain_kg=1, water_l=3, from_c=62, to_c=66, hot_c=95)

    assert answer.litres == pytest.approx(0.469, abs=0.0005)


@pytest.mark.parametrize(("ice_c", "expected"), [(0, 417.37), (-18, 453.92)])
def test_ice_takes_up_what_iapws_says_until_it_is_water_at_20_c(ice_c: float, expected: float) -> None:
    assert ice_to_water_kj_per_kg(ice_c, 20) == pytest.approx(expected, rel=2e-4)


@pytest.mark.parametrize("ice_c", [0, -5, -18, -30])
@pytest.mark.parametrize("water_c", [1, 10, 20, 40, 80])
def test_ice_agrees_with_the_iapws_library_over_its_range(ice_c: float, water_c: float) -> None:
    by_iapws = IAPWS95(T=water_c + 273.15, P=0.101325).h - _Ice(273.15 + ice_c, 0.101325)["h"]

    assert ice_to_water_kj_per_kg(ice_c, water_c) == pytest.approx(by_iapws, rel=1.5e-3)


def test_5_216_kg_of_wort_from_80_to_20_c_need_2_962_kg_of_ice() -> None:
    # Computed with iapws and 3.95 kJ/(kg K); 5 L at 1.045 are 5.216 kg.
    answer = ice(volume_l=5, og=1.045, from_c=80, to_c=20, ice_c=0)

    assert answer.kg == pytest.approx(2.962, rel=1e-3)
    assert answer.low == pytest.approx(0.97 * answer.kg)
    assert answer.high == pytest.approx(1.03 * answer.kg)
