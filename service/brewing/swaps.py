"""Recognises a number given in another unit than the one asked for, to name the likely slip."""

from dataclasses import dataclass
from enum import StrEnum


class Measure(StrEnum):
    """What kind of number it is; decides which slips are likely."""

    OTHER = "other"
    SG = "sg"
    PLATO = "plato"
    CELSIUS = "celsius"
    BAR_ABSOLUTE = "bar-absolute"
    HPA = "hpa"
    METRES = "metres"
    VOLUMES = "volumes"
    LITRES = "litres"
    KILOGRAMS = "kilograms"
    SHARE = "share"


@dataclass(frozen=True, slots=True)
class Swap:
    """One likely slip: a sentence that names it and one that says what to give instead."""

    looks_like: str
    remedy: str


@dataclass(frozen=True, slots=True)
class _Slip:
    """value * factor + offset is the value in the unit asked for; typed_low/high bound what was typed."""

    measure: Measure
    typed_low: float
    typed_high: float
    factor: float
    offset: float
    looks_like: str
    shown: str


_SLIPS = (
    _Slip(Measure.SG, 900, 1200, 0.001, 0, "an SG written without its decimal point", "{0:.4g}"),
    _Slip(Measure.SG, 1.2, 45, 0.00405, 1, "degrees Plato given as SG", "plato, or about {0:.3f} as SG"),
    _Slip(Measure.SG, 45, 170, 0.001, 1, "gravity points given as SG", "{0:.3f}"),
    _Slip(Measure.SG, 0.0005, 0.17, 1, 1, "only the part of the SG after the point", "{0:.3f}"),
    _Slip(Measure.PLATO, 900, 1200, 0.2469, -246.9, "an SG given as degrees Plato", "about {0:.1f}"),
    _Slip(Measure.PLATO, 40, 170, 0.2469, 0, "gravity points given as degrees Plato", "about {0:.1f}"),
    _Slip(Measure.CELSIUS, -60, 230, 1 / 1.8, -32 / 1.8, "Fahrenheit given as Celsius", "{0:.1f} C"),
    _Slip(Measure.CELSIUS, 230, 400, 1, -273.15, "Kelvin given as Celsius", "{0:.1f} C"),
    _Slip(Measure.BAR_ABSOLUTE, 0, 0.5, 1, 1.013, "a gauge pressure", "{0:.3f} bar absolute"),
    _Slip(Measure.BAR_ABSOLUTE, 8, 60, 0.0689476, 1.013, "a gauge pressure in psi", "{0:.2f} bar absolute"),
    _Slip(Measure.BAR_ABSOLUTE, 60, 450, 0.01, 0, "a pressure in kPa", "{0:.2f} bar"),
    _Slip(Measure.BAR_ABSOLUTE, 450, 8000, 0.001, 0, "a pressure in hPa", "{0:.3f} bar"),
    _Slip(Measure.HPA, 0.5, 1.1, 1000, 0, "a pressure in bar", "{0:.0f} hPa"),
    _Slip(Measure.HPA, 14.8, 32.5, 33.8639, 0, "inches of mercury", "{0:.0f} hPa"),
    _Slip(Measure.HPA, 50, 110, 10, 0, "a pressure in kPa", "{0:.0f} hPa"),
    _Slip(Measure.HPA, 50_000, 110_000, 0.01, 0, "a pressure in Pa", "{0:.0f} hPa"),
    _Slip(Measure.METRES, 5500, 18_000, 0.3048, 0, "an altitude in feet", "{0:.0f} m"),
    _Slip(Measure.VOLUMES, 6, 13, 0.50587, 0, "grams per litre of carbon dioxide", "{0:.2f} volumes"),
    _Slip(Measure.LITRES, 5, 100, 0.01, 0, "centilitres given as litres", "{0:g} L"),
    _Slip(Measure.LITRES, 100, 1_000_000, 0.001, 0, "millilitres given as litres", "{0:g} L"),
    _Slip(Measure.KILOGRAMS, 300, 300_000, 0.001, 0, "grams given as kilograms", "{0:g} kg"),
    _Slip(Measure.SHARE, 1, 100, 0.01, 0, "a percentage given as a share of 1", "{0:g}"),
)


def likely_swap(value: float, measure: Measure, low: float, high: float) -> Swap | None:
    """The first slip that would explain a value outside low..high, or None when none would."""
    for slip in _SLIPS:
        if slip.measure is not measure or not slip.typed_low <= value <= slip.typed_high:
            continue
        meant = value * slip.factor + slip.offset
        if low <= meant <= high:
            return Swap(f"It looks like {slip.looks_like}.", f"Give {slip.shown.format(meant)}.")
    return None
