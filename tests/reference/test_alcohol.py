"""Alcohol and real extract against measured beers, a printed factor table and ethanol-water densities."""

import pytest

from service.brewing.alcohol import (
    alcohol,
    alcohol_by_mass_percent,
    original_extract_plato,
    real_extract_plato,
    volume_percent,
)

# Cutaia, Reid, Speers, J. Inst. Brew. 115:318 (2009), Table III: means of five sets of analysed beers.
# OE, alcohol % mass, RE, AE.
MEASURED = (
    (14.08, 4.72, 5.28, 3.11),
    (14.54, 5.14, 4.88, 2.53),
    (17.67, 6.56, 5.38, 2.45),
    (11.34, 3.82, 3.80, 2.01),
    (12.75, 4.21, 4.74, 2.79),
)

# Factors f in alcohol % mass = f (OE - AE), an archived printed table.
FACTORS = ((6, 0.4073), (10, 0.4148), (12, 0.4187), (15, 0.4246), (20, 0.4351))

# OIML R 22 (Directive 76/766/EEC), density of ethanol-water at 20 C by mass fraction, kg/m3;
# coefficients second-hand.
OIML_R22 = (
    9.982012300e2,
    -1.929769495e2,
    3.891238958e2,
    -1.668103923e3,
    1.352215441e4,
    -8.829278388e4,
    3.062874042e5,
    -6.138381234e5,
    7.470172998e5,
    -5.478461354e5,
    2.234460334e5,
    -3.903285426e4,
)


def oiml_density_20_c(mass_fraction: float) -> float:
    return sum(a * mass_fraction**k for k, a in enumerate(OIML_R22))


@pytest.mark.parametrize(("oe", "a", "re", "ae"), MEASURED)
def test_real_extract_is_that_of_measured_beers(oe: float, a: float, re: float, ae: float) -> None:
    assert real_extract_plato(oe, ae) == pytest.approx(re, abs=0.25)


@pytest.mark.parametrize(("oe", "a", "re", "ae"), MEASURED)
def test_alcohol_is_that_of_measured_beers(oe: float, a: float, re: float, ae: float) -> None:
    assert alcohol_by_mass_percent(oe, real_extract_plato(oe, ae)) == pytest.approx(a, abs=0.12)


@pytest.mark.parametrize(("oe", "a", "re", "ae"), MEASURED)
def test_the_original_extract_is_found_again_from_a_measured_beer(
    oe: float, a: float, re: float, ae: float
) -> None:
    assert original_extract_plato(a, re) == pytest.approx(oe, abs=0.25)


@pytest.mark.parametrize(("oe", "printed"), FACTORS)
def test_alcohol_factors_are_within_2_percent_of_the_printed_table(oe: float, printed: float) -> None:
    ae = 0.25 * oe

    factor = alcohol_by_mass_percent(oe, real_extract_plato(oe, ae)) / (oe - ae)

    assert factor == pytest.approx(printed, rel=0.017)


def test_at_12_plato_the_factor_is_0_9_percent_above_the_printed_one() -> None:
    factor = alcohol_by_mass_percent(12, real_extract_plato(12, 3)) / 9

    assert factor / 0.4187 - 1 == pytest.approx(0.009, abs=0.0005)


def test_the_chain_from_1_045_to_1_010() -> None:
    # Computed by the same relations with the trade's cubic for Plato (within 0.011 P of the polynomial).
    answer = alcohol(og=1.045, fg=1.010)

    assert answer.original_extract_plato == pytest.approx(11.196, abs=0.011)
    assert answer.apparent_extract_plato == pytest.approx(2.561, abs=0.011)
    assert answer.real_extract_plato == pytest.approx(4.122, abs=0.011)
    assert answer.alcohol_by_mass_percent == pytest.approx(3.633, abs=0.006)
    assert answer.alcohol_by_volume_percent == pytest.approx(4.64, abs=0.01)
    assert answer.apparent_attenuation_percent == pytest.approx(77.1, abs=0.1)
    assert answer.real_attenuation_percent == pytest.approx(63.2, abs=0.1)


@pytest.mark.parametrize(
    ("percent_volume", "percent_mass", "density"), [(5, 3.982, 991.055), (10, None, 984.710)]
)
def test_percent_by_volume_agrees_with_oiml_r_22(
    percent_volume: float, percent_mass: float | None, density: float
) -> None:
    if percent_mass is None:
        percent_mass = percent_volume * 789.239 / density

    by_volume = volume_percent(percent_mass, oiml_density_20_c(percent_mass / 100))

    assert oiml_density_20_c(percent_mass / 100) == pytest.approx(density, abs=0.005)
    assert by_volume == pytest.approx(percent_volume, abs=0.001)


def test_pure_ethanol_is_100_percent_by_volume() -> None:
    assert volume_percent(100, oiml_density_20_c(1.0)) == pytest.approx(100, abs=0.001)
