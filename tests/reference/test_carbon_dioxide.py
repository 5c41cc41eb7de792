"""Solubility of carbon dioxide and the pressure of bottles against published tables."""

import warnings

import numpy as np
import pytest

from service.brewing.bottle_pressure import pressure
from service.brewing.carbonation import dissolved, solubility_mol_per_l_atm, volumes_at
from service.brewing.water import ATMOSPHERE_BAR, vapour_pressure_bar

# Computed from Weiss 1974 at zero salinity (coefficients from memory), one volume = 1.9768 g/L.
WEISS_UNDER_ONE_ATM_OF_CO2 = (
    (0, 1.716),
    (4, 1.471),
    (10, 1.188),
    (15, 1.008),
    (20, 0.866),
    (25, 0.752),
    (30, 0.661),
)
WEISS_UNDER_ONE_ATM_IN_ALL = (
    (0, 1.705),
    (4, 1.459),
    (10, 1.173),
    (15, 0.991),
    (20, 0.846),
    (25, 0.729),
    (30, 0.633),
)

# CRC Handbook (Carroll 1991), converted to volumes.
CRC = ((0, 1.676), (10, 1.190), (15, 1.019), (20, 0.881), (25, 0.767), (30, 0.675))

# Murray & Riley 1971, Bunsen coefficients, as in the NIST solubility database, system 62_54.
MURRAY_RILEY = ((5, 1.4199), (10, 1.1926), (15, 1.0100), (20, 0.8652), (25, 0.7519))

# Computed by Weiss, virial and vapour: gauge bar of the carbon dioxide without and with 4 % headspace.
BOTTLES = (
    (2.0, 20, 1.37, 1.27),
    (2.0, 30, 2.13, 1.96),
    (2.0, 40, 2.96, 2.71),
    (2.5, 20, 1.97, 1.84),
    (2.5, 30, 2.91, 2.71),
    (2.5, 40, 3.96, 3.64),
    (3.0, 20, 2.57, 2.42),
    (3.0, 30, 3.71, 3.45),
    (3.0, 40, 4.97, 4.58),
)

# A printed carbonation chart at 68 F: volumes and gauge bar.
PRINTED_CHART_68_F = ((2.0, 1.37), (2.5, 1.90), (3.0, 2.45))


@pytest.mark.parametrize(("temp_c", "expected"), WEISS_UNDER_ONE_ATM_OF_CO2)
def test_solubility_is_weiss_s_table(temp_c: float, expected: float) -> None:
    assert volumes_at(ATMOSPHERE_BAR, temp_c) == pytest.approx(expected, abs=0.001)


@pytest.mark.parametrize(("temp_c", "expected"), WEISS_UNDER_ONE_ATM_IN_ALL)
def test_beer_under_its_own_gas_holds_what_vapour_leaves_room_for(temp_c: float, expected: float) -> None:
    assert dissolved(temp_c=temp_c).volumes == pytest.approx(expected, abs=0.001)


@pytest.mark.parametrize(("temp_c", "expected"), CRC)
def test_solubility_is_within_2_5_percent_of_the_crc_handbook(temp_c: float, expected: float) -> None:
    assert volumes_at(ATMOSPHERE_BAR, temp_c) == pytest.approx(expected, rel=0.025)


@pytest.mark.parametrize(("temp_c", "bunsen"), MURRAY_RILEY)
def test_solubility_is_within_half_a_percent_of_murray_and_riley(temp_c: float, bunsen: float) -> None:
    assert volumes_at(ATMOSPHERE_BAR, temp_c) == pytest.approx(bunsen, rel=0.005)


def test_pyco2sys_has_the_same_constant_for_fresh_water() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import PyCO2SYS

        found = PyCO2SYS.sys(par1=2000, par1_type=2, par2=8.0, par2_type=3, salinity=0.0, temperature=20.0)
    mol_per_kg_atm = float(np.asarray(found["k_CO2"]))

    by_us_per_kg = solubility_mol_per_l_atm(20) / 0.998207

    assert mol_per_kg_atm == pytest.approx(0.0391622, rel=1e-4)
    assert by_us_per_kg == pytest.approx(mol_per_kg_atm, rel=0.003)


@pytest.mark.parametrize(("volumes", "temp_c", "brim", "four_percent"), BOTTLES)
def test_bottle_pressure_of_the_carbon_dioxide_alone(
    volumes: float, temp_c: float, brim: float, four_percent: float
) -> None:
    without = pressure(volumes=volumes, temp_c=temp_c, headspace_percent=0, headspace_air=False)
    with_headspace = pressure(volumes=volumes, temp_c=temp_c, headspace_percent=4, headspace_air=False)

    assert without.gauge_bar == pytest.approx(brim, rel=0.03)
    assert with_headspace.gauge_bar == pytest.approx(four_percent, rel=0.03)
    assert without.air_bar == with_headspace.air_bar == 0


@pytest.mark.parametrize(("volumes", "expected"), PRINTED_CHART_68_F)
def test_bottle_pressure_agrees_with_a_printed_chart(volumes: float, expected: float) -> None:
    answer = pressure(volumes=volumes, temp_c=20, headspace_percent=0, headspace_air=False)

    assert answer.gauge_bar == pytest.approx(expected, rel=0.06)


def test_air_in_the_headspace_adds_about_0_8_bar() -> None:
    # Nitrogen is 78 % and argon 0.9 % of dry air; the yeast takes most of the oxygen.
    with_air = pressure(volumes=2.4, temp_c=20, headspace_percent=4, headspace_air=True)
    without = pressure(volumes=2.4, temp_c=20, headspace_percent=4, headspace_air=False)

    assert with_air.air_bar == pytest.approx(0.8, abs=0.05)
    assert with_air.gauge_bar - without.gauge_bar == pytest.approx(with_air.air_bar)
    dry = ATMOSPHERE_BAR - vapour_pressure_bar(20)
    assert with_air.air_bar == pytest.approx(0.79 * dry, rel=1e-6)
