"""Water against IAPWS-95 (computed with CoolProp and iapws) and Kell 1975."""

import pytest
from CoolProp.CoolProp import PropsSI
from iapws import IAPWS95

from service.brewing.water import boiling_temp_c, vapour_pressure_bar, water_density_kg_per_m3

TEMPS_C = (4, 15, 15.556, 20, 25, 40, 66, 80)

# Computed from IAPWS-95 at 101 325 Pa (CoolProp 8).
IAPWS95_KG_PER_M3 = (999.975, 999.103, 999.017, 998.207, 997.048, 992.216, 980.005, 971.790)

# Kell 1975, J. Chem. Eng. Data 20:97; the coefficients behind these are from memory.
KELL_KG_PER_M3 = (999.972, 999.100, 999.014, 998.204, 997.045, 992.216, 980.009, 971.798)


@pytest.mark.parametrize(("temp_c", "expected"), list(zip(TEMPS_C, IAPWS95_KG_PER_M3, strict=True)))
def test_water_is_as_dense_as_iapws_95_says(temp_c: float, expected: float) -> None:
    density = water_density_kg_per_m3(temp_c)

    assert density == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize(("temp_c", "expected"), list(zip(TEMPS_C, KELL_KG_PER_M3, strict=True)))
def test_water_is_as_dense_as_kell_found(temp_c: float, expected: float) -> None:
    on_the_scale_of_1990_c = temp_c / 1.00024  # Kell's temperatures are on the scale of 1968

    density = water_density_kg_per_m3(on_the_scale_of_1990_c)

    assert density == pytest.approx(expected, abs=0.01)


@pytest.mark.parametrize("temp_c", TEMPS_C)
def test_two_libraries_give_the_frozen_densities_today(temp_c: float) -> None:
    by_coolprop = PropsSI("D", "T", temp_c + 273.15, "P", 101325, "Water")
    by_iapws = IAPWS95(T=temp_c + 273.15, P=0.101325).rho

    density = water_density_kg_per_m3(temp_c)

    assert density == pytest.approx(by_coolprop, abs=0.01)
    assert density == pytest.approx(by_iapws, abs=0.01)


@pytest.mark.parametrize("temp_c", [1, 10, 20, 30, 40, 66, 100])
def test_the_vapour_pressure_is_the_one_of_iapws_95(temp_c: float) -> None:
    by_coolprop_bar = PropsSI("P", "T", temp_c + 273.15, "Q", 0, "Water") / 1e5

    pressure = vapour_pressure_bar(temp_c)

    assert pressure == pytest.approx(by_coolprop_bar, rel=5e-4)


@pytest.mark.parametrize("pressure_bar", [0.5, 0.7, 0.85, 0.95, 1.01325, 1.1])
def test_water_boils_where_iapws_95_says(pressure_bar: float) -> None:
    by_coolprop_c = PropsSI("T", "P", pressure_bar * 1e5, "Q", 0, "Water") - 273.15

    temp_c = boiling_temp_c(pressure_bar)

    assert temp_c == pytest.approx(by_coolprop_c, abs=0.02)


def test_water_boils_at_just_under_100_c_under_one_atmosphere() -> None:
    # 99.974 C: computed from IAPWS-95 (the steam point of the temperature scale of 1990).
    temp_c = boiling_temp_c(1.01325)

    assert temp_c == pytest.approx(99.974, abs=0.005)
