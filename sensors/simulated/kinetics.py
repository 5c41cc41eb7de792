"""The growth model of Gee and Ramirez: three sugars, yeast and ethanol over time and temperature.

Amounts are mol/m3, times are hours. The parameters are second-hand: three transcriptions of the published
table agree, and the paper itself was not seen. They were fitted at 4 to 16 C; warmer is an extrapolation
(`extrapolated` tells), and most ales ferment there.
"""

from math import exp
from typing import NamedTuple

FITTED_FROM_C, FITTED_TO_C = 4.0, 16.0

_R = 1.987e-3  # kcal/(mol K)
_GROWTH_LIMIT = 3.65e5  # mol2/m6


class Sugars(NamedTuple):
    """What is in the wort, mol/m3."""

    glucose: float
    maltose: float
    maltotriose: float
    yeast: float
    ethanol: float = 0.0


class Rates(NamedTuple):
    """The eight parameters at one temperature: speeds, half-saturations, and two that hold back."""

    v_glucose: float
    v_maltose: float
    v_maltotriose: float
    k_glucose: float
    k_maltose: float
    k_maltotriose: float
    hold_glucose: float
    hold_maltose: float


def extrapolated(temp_c: float) -> bool:
    """Whether a temperature is outside the range that the parameters were fitted on."""
    return not FITTED_FROM_C <= temp_c <= FITTED_TO_C


def rates_at(temp_c: float) -> Rates:
    """The parameters at a temperature, each exp(a - b/(R T))."""
    x = 1.0 / (_R * (temp_c + 273.15))
    return Rates(
        exp(35.77 - 22.6 * x),
        exp(16.4 - 11.3 * x),
        exp(10.59 - 7.16 * x),
        exp(-121.3 + 68.6 * x),
        exp(-19.15 + 14.4 * x),
        exp(-26.78 + 19.9 * x),
        exp(23.33 - 10.2 * x),
        exp(55.61 - 26.3 * x),
    )


def step(now: Sugars, rates: Rates, hours: float, yeast_at_start: float) -> Sugars:
    """What is there `hours` later, by one midpoint step; good to 0.1 % for steps of up to half an hour."""
    middle = _moved(now, _slopes(now, rates, yeast_at_start), hours / 2)
    return _moved(now, _slopes(middle, rates, yeast_at_start), hours)


def _slopes(now: Sugars, rates: Rates, yeast_at_start: float) -> Sugars:
    glucose, maltose, maltotriose, yeast, _ = now
    room_for_maltose = rates.hold_glucose / (rates.hold_glucose + glucose)
    room_for_maltotriose = room_for_maltose * rates.hold_maltose / (rates.hold_maltose + maltose)
    mu1 = rates.v_glucose * glucose / (rates.k_glucose + glucose)
    mu2 = rates.v_maltose * maltose / (rates.k_maltose + maltose) * room_for_maltose
    mu3 = rates.v_maltotriose * maltotriose / (rates.k_maltotriose + maltotriose) * room_for_maltotriose
    grown = yeast - yeast_at_start
    crowding = _GROWTH_LIMIT / (_GROWTH_LIMIT + grown * grown)
    return Sugars(
        -mu1 * yeast,
        -mu2 * yeast,
        -mu3 * yeast,
        (0.134 * mu1 + 0.268 * mu2 + 0.402 * mu3) * yeast * crowding,
        (1.92 * mu1 + 3.84 * mu2 + 5.76 * mu3) * yeast,
    )


def _moved(now: Sugars, slopes: Sugars, hours: float) -> Sugars:
    return Sugars(
        max(0.0, now.glucose + slopes.glucose * hours),
        max(0.0, now.maltose + slopes.maltose * hours),
        max(0.0, now.maltotriose + slopes.maltotriose * hours),
        now.yeast + slopes.yeast * hours,
        now.ethanol + slopes.ethanol * hours,
    )
