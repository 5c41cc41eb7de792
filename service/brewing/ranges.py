"""The range in which each input is believed, and the refusal that states it.

A value outside is never clipped or extrapolated. When it looks like a common swap of units the
refusal says so (see `swaps`).
"""

import math
from dataclasses import dataclass

from service.brewing.swaps import Measure, likely_swap
from service.errors import InvalidInputError, Problem


@dataclass(frozen=True, slots=True)
class Range:
    """Lowest and highest value a formula takes, both included, with the unit they are in."""

    name: str
    low: float
    high: float
    unit: str
    measure: Measure = Measure.OTHER

    def __str__(self) -> str:
        return f"{self.low:g} to {self.high:g} {self.unit}".rstrip()


ORIGINAL_SG = Range("original gravity", 1.0, 1.17, "SG", Measure.SG)
FERMENTED_OG = Range("original gravity", 1.005, 1.13, "SG", Measure.SG)
SG = Range("gravity", 0.985, 1.17, "SG", Measure.SG)
PLATO = Range("extract", -4.0, 40.0, "degrees Plato", Measure.PLATO)
BRIX = Range("refractometer reading", 0.0, 40.0, "Brix", Measure.PLATO)
WORT_FACTOR = Range("wort factor", 0.9, 1.15, "")
SAMPLE_C = Range("sample temperature", 0.0, 60.0, "C", Measure.CELSIUS)
INSTRUMENT_C = Range("temperature the hydrometer is made for", 10.0, 30.0, "C", Measure.CELSIUS)
ZERO_ERROR_PT = Range("zero error", -10.0, 10.0, "points")
BEER_C = Range("beer temperature", 0.0, 40.0, "C", Measure.CELSIUS)
WORT_C = Range("wort temperature", 0.0, 105.0, "C", Measure.CELSIUS)
TARGET_C = Range("target temperature", 0.0, 100.0, "C", Measure.CELSIUS)
BATH_C = Range("bath temperature", -2.0, 60.0, "C", Measure.CELSIUS)
GRAIN_C = Range("grain temperature", -10.0, 45.0, "C", Measure.CELSIUS)
MASH_C = Range("mash temperature", 30.0, 85.0, "C", Measure.CELSIUS)
HOT_WATER_C = Range("hot water temperature", 40.0, 100.0, "C", Measure.CELSIUS)
ICE_C = Range("ice temperature", -30.0, 0.0, "C", Measure.CELSIUS)
PRESSURE_BAR = Range("absolute pressure", 0.5, 8.0, "bar", Measure.BAR_ABSOLUTE)
PRESSURE_HPA = Range("air pressure", 500.0, 1100.0, "hPa", Measure.HPA)
ALTITUDE_M = Range("altitude", -430.0, 5500.0, "m", Measure.METRES)
VOLUMES = Range("carbonation", 0.0, 6.0, "volumes", Measure.VOLUMES)
VOLUME_L = Range("volume", 0.1, 1000.0, "L", Measure.LITRES)
BOTTLE_L = Range("bottle size", 0.1, 5.0, "L", Measure.LITRES)
WATER_L = Range("water", 0.0, 1000.0, "L", Measure.LITRES)
MASH_WATER_L = Range("mash water", 0.5, 1000.0, "L", Measure.LITRES)
BOTTLE_COUNT = Range("number of bottles", 1, 5000, "bottles")
POINTS_LEFT = Range("points still to come", 0.0, 100.0, "points")
HEADSPACE_PERCENT = Range("headspace", 0.0, 30.0, "% of the liquid")
GRAIN_KG = Range("grain", 0.05, 300.0, "kg", Measure.KILOGRAMS)
STOVE_GRAIN_KG = Range("grain", 0.0, 300.0, "kg", Measure.KILOGRAMS)
MASS_G = Range("mass", 0.0, 200_000.0, "g")
LOST_G = Range("mass lost", 0.0, 200_000.0, "g")
SHARE = Range("share", 0.0, 1.0, "", Measure.SHARE)
TEN_TEASPOONS_G = Range("weight of ten level teaspoons", 10.0, 120.0, "g")
MINUTES = Range("time", 0.1, 600.0, "min")
BOIL_OFF_L_PER_H = Range("boil-off", 0.0, 60.0, "L/h")
DAYS = Range("time", 0.0, 1000.0, "days")
RISE_C = Range("rise of temperature", 0.5, 80.0, "C")
FERMENTER_KG = Range("weight of the fermenter", 0.1, 2000.0, "kg", Measure.KILOGRAMS)
DURATION_S = Range("time", 1.0, 1_000_000.0, "s")


def within(field: str, value: float, allowed: Range) -> Problem | None:
    """The problem with a number, or None. field is a JSON pointer (``/sg``)."""
    if not math.isfinite(value):
        return Problem(field, f"The {allowed.name} is not a number.", f"Give a number, {allowed}.")
    if allowed.low <= value <= allowed.high:
        return None
    swap = likely_swap(value, allowed.measure, allowed.low, allowed.high)
    outside = f"The {allowed.name} {value:g} is outside {allowed}."
    if swap is not None:
        return Problem(field, f"{outside} {swap.looks_like}", swap.remedy)
    return Problem(field, outside, f"Give a value within {allowed}; the formula is not used beyond it.")


def refuse_if(*problems: Problem | None) -> None:
    """Raises InvalidInputError with every problem that is not None; returns quietly when all are."""
    found = tuple(problem for problem in problems if problem is not None)
    if found:
        raise InvalidInputError(*found)
