"""Degrees Plato and SG against printed sugar tables and the trade's cubic."""

import pytest

from service.brewing.sucrose import (
    plato_from_sg,
    sg_from_plato,
    sucrose_density_kg_per_m3,
)

# SG 20/20 weighed in air, computed from the ICUMSA polynomial (Bubnik and others 1995, p. 164;
# second-hand: three transcriptions of its coefficients agree).
IN_AIR = ((5, 1.01966), (10, 1.04003), (11, 1.04419), (12, 1.04839), (15, 1.06114), (20, 1.08302))
IN_VACUUM = ((5, 1.01964), (10, 1.03998), (11, 1.04414), (12, 1.04833), (15, 1.06107), (20, 1.08292))

# Printed sugar-table values of SG 20/20, second-hand.
PRINTED = ((8.4, 1.03344), (8.8, 1.03508), (8.9, 1.03549))

# Cooley's Cyclopaedia, vol. II p. 1198, cane sugar; its reference temperature is not stated, 17.5/17.5 fits.
COOLEY = ((5, 1.019686), (10, 1.040104), (12, 1.048482), (15, 1.061278), (20, 1.083234))


@pytest.mark.parametrize(("plato", "expected"), IN_AIR)
def test_sg_in_air_follows_the_sucrose_polynomial(plato: float, expected: float) -> None:
    assert sg_from_plato(plato) == pytest.approx(expected, abs=3e-5)


@pytest.mark.parametrize(("plato", "expected"), IN_VACUUM)
def test_the_ratio_of_densities_is_the_sg_in_vacuum(plato: float, expected: float) -> None:
    ratio = sucrose_density_kg_per_m3(plato, 20) / sucrose_density_kg_per_m3(0, 20)

    assert ratio == pytest.approx(expected, abs=3e-5)


@pytest.mark.parametrize(("plato", "expected"), PRINTED)
def test_sg_agrees_with_printed_sugar_tables(plato: float, expected: float) -> None:
    assert sg_from_plato(plato) == pytest.approx(expected, abs=2e-5)


@pytest.mark.parametrize(("plato", "expected"), COOLEY)
def test_sg_at_17_5_agrees_with_cooleys_cane_sugar_table(plato: float, expected: float) -> None:
    assert sg_from_plato(plato, 17.5) == pytest.approx(expected, abs=1.5e-4)


@pytest.mark.parametrize("plato", [0.5 * half for half in range(41)])
def test_plato_is_within_0_011_of_the_trades_cubic(plato: float) -> None:
    # The cubic's coefficients are from memory. 0.011 to the last digit shown: 0.0114 at 20 P.
    sg = sg_from_plato(plato)

    by_cubic = -616.868 + 1111.14 * sg - 630.272 * sg**2 + 135.997 * sg**3

    assert plato_from_sg(sg) == pytest.approx(by_cubic, abs=0.0115)
