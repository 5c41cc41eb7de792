"""Hydrometer correction for sample temperature.

The corrected values for a reading of 1.050 were computed from the water rule
`R (1 - 25e-6 (t - Tc)) rho_w(Tc)/rho_w(t)` and from the sucrose density (Bubnik and others 1995,
p. 164) with soda-lime glass of 25e-6/K (ISO 1768:1975).
"""

import pytest
from CoolProp.CoolProp import PropsSI

from service.brewing.hydrometer import gravity

SAMPLES_C = (10, 15, 25, 30, 40, 60)
SUCROSE_20_C = (1.04812, 1.04893, 1.05131, 1.05284, 1.05651, 1.06590)
SUCROSE_60_F = (1.04908, 1.04989, 1.05230, 1.05384, 1.05752, 1.06697)
WATER_20_C = (1.04869, 1.04919, 1.05109, 1.05243, 1.05581, 1.06497)
SIXTY_F_C = 15.556


@pytest.mark.parametrize(("sample_c", "expected"), list(zip(SAMPLES_C, SUCROSE_20_C, strict=True)))
def test_a_20_c_hydrometer_is_corrected_by_the_sucrose_density(sample_c: float, expected: float) -> None:
    answer = gravity(sg=1.050, sample_c=sample_c, instrument_c=20)

    assert answer.corrected_sg == pytest.approx(expected, abs=5e-5)


@pytest.mark.parametrize(("sample_c", "expected"), list(zip(SAMPLES_C, SUCROSE_60_F, strict=True)))
def test_a_60_f_hydrometer_is_corrected_by_the_sucrose_density(sample_c: float, expected: float) -> None:
    answer = gravity(sg=1.050, sample_c=sample_c, instrument_c=SIXTY_F_C)

    assert answer.corrected_sg == pytest.approx(expected, abs=5e-5)


@pytest.mark.parametrize(("sample_c", "water_rule"), list(zip(SAMPLES_C, WATER_20_C, strict=True)))
def test_the_correction_stays_within_a_point_of_the_water_rule(sample_c: float, water_rule: float) -> None:
    answer = gravity(sg=1.050, sample_c=sample_c, instrument_c=20)

    assert answer.corrected_sg == pytest.approx(water_rule, abs=1e-3)


@pytest.mark.parametrize("sample_c", [5, 10, 15, 25, 30, 40, 60])
def test_a_reading_in_plain_water_is_corrected_to_1_000(sample_c: float) -> None:
    """The glass and water alone: what the instrument shows in water of that temperature, by IAPWS-95."""
    water_at = PropsSI("D", "T", sample_c + 273.15, "P", 101325, "Water")
    water_20 = PropsSI("D", "T", 293.15, "P", 101325, "Water")
    shown = (1 + 25e-6 * (sample_c - 20)) * water_at / water_20

    answer = gravity(sg=shown, sample_c=sample_c, instrument_c=20)

    assert answer.corrected_sg == pytest.approx(1.0, abs=3e-5)
