"""Carbon dioxide dissolved in beer. One volume is one litre of gas (0 C, 1 atm) in a litre of beer."""

import math
from dataclasses import dataclass

from service.brewing.ranges import BEER_C, PRESSURE_BAR, refuse_if, within
from service.brewing.water import ATMOSPHERE_BAR, vapour_pressure_bar
from service.brewing.working import Quantity, Working

G_PER_VOLUME = 1.9768
"""Grams of carbon dioxide in a litre at 0 C and 1 atm, as a real gas: one volume in g/L."""
CO2_G_PER_MOL = 44.0095
BAR_CM3_PER_MOL_K = 83.14463
BEER_SHARE = 0.05
"""How far beer may differ from water in what it dissolves: a share either way, an estimate."""

WEISS_SOURCE = (
    "Weiss, Marine Chemistry 2:203 (1974), at zero salinity (coefficients from memory); vapour: IAPWS-IF97"
)


@dataclass(frozen=True, slots=True)
class Dissolved:
    """Carbon dioxide in balance with its gas: volumes, and the same in grams per litre."""

    volumes: float
    grams_per_l: float
    working: Working


def solubility_mol_per_l_atm(temp_c: float) -> float:
    """Weiss's K0 at zero salinity: mol of carbon dioxide per litre and atm of fugacity, 0 to 40 C."""
    kelvin = temp_c + 273.15
    return math.exp(-58.0931 + 90.5069 * (100 / kelvin) + 22.2940 * math.log(kelvin / 100))


def second_virial_cm3_per_mol(temp_c: float) -> float:
    """Second virial coefficient of carbon dioxide, cm3/mol (Weiss 1974)."""
    t = temp_c + 273.15
    return -1636.75 + t * (12.0408 + t * (-0.0327957 + t * 3.16528e-5))


def fugacity_share(co2_bar: float, temp_c: float) -> float:
    """Fugacity over pressure of carbon dioxide gas at a partial pressure in bar; just under 1."""
    kelvin = temp_c + 273.15
    return math.exp(second_virial_cm3_per_mol(temp_c) * co2_bar / (BAR_CM3_PER_MOL_K * kelvin))


def volumes_at(co2_bar: float, temp_c: float) -> float:
    """Volumes dissolved under a partial pressure of carbon dioxide in bar at temp_c."""
    fugacity_atm = co2_bar / ATMOSPHERE_BAR * fugacity_share(co2_bar, temp_c)
    return solubility_mol_per_l_atm(temp_c) * fugacity_atm * CO2_G_PER_MOL / G_PER_VOLUME


def co2_bar_for(volumes: float, temp_c: float) -> float:
    """Partial pressure of carbon dioxide in bar that keeps so many volumes dissolved at temp_c."""
    low, high = 0.0, 40.0
    for _ in range(80):
        middle = (low + high) / 2
        if volumes_at(middle, temp_c) < volumes:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def residual_volumes(warmest_c: float) -> float:
    """Volumes left, under its own gas at 1 atm, in beer that has been as warm as warmest_c since its end."""
    return volumes_at(ATMOSPHERE_BAR - vapour_pressure_bar(warmest_c), warmest_c)


def dissolved(*, temp_c: float, pressure_bar: float = ATMOSPHERE_BAR) -> Dissolved:
    """Carbon dioxide that beer holds under pure carbon dioxide and its own vapour.

    temp_c: beer, C. pressure_bar: absolute, bar (a gauge shows about 1.013 bar less at sea level).
    Raises InvalidInputError.
    """
    refuse_if(
        within("/temp_c", temp_c, BEER_C),
        within("/pressure_bar", pressure_bar, PRESSURE_BAR),
    )
    volumes = volumes_at(pressure_bar - vapour_pressure_bar(temp_c), temp_c)
    return Dissolved(
        volumes=volumes,
        grams_per_l=volumes * G_PER_VOLUME,
        working=Working(
            formula=(
                "ln K0 = -58.0931 + 90.5069 (100/T) + 22.2940 ln(T/100); "
                "volumes = K0 x fugacity of (pressure - vapour) x 44.01 / 1.9768"
            ),
            inputs=(
                Quantity("temperature", temp_c, "C"),
                Quantity("pressure", pressure_bar, "bar absolute"),
            ),
            source=WEISS_SOURCE,
            limits=(
                f"{BEER_C} and {PRESSURE_BAR}, for water within 2 %; beer may hold "
                f"{100 * BEER_SHARE:g} % more or less."
            ),
        ),
    )
