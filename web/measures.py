"""What kind of figure a field holds, and how it goes between the brewer's unit and the service's. Pure.

The service knows C and SG. What is typed is turned into them once, at the page's edge; a value outside
its limits is refused here when the brewer writes another unit, so that the limits are named in that unit.
"""

from enum import StrEnum

from service.brewing.ranges import Range
from service.brewing.swaps import Measure
from service.errors import Problem
from web.words import Taste


class Kind(StrEnum):
    """What a figure measures, as far as brewers write it differently."""

    TEMPERATURE = "temperature"
    SPAN = "span"
    GRAVITY = "gravity"
    PLAIN = "plain"


OTHERS = {Kind.TEMPERATURE: "C", Kind.GRAVITY: "SG"}
"""The unit that is likely meant by a figure outside its limits, when the brewer writes the other."""


def kind_of(limits: Range | None) -> Kind:
    """The kind of a figure with these limits."""
    if limits is None:
        return Kind.PLAIN
    if limits.unit == "C":
        return Kind.TEMPERATURE if limits.measure is Measure.CELSIUS else Kind.SPAN
    return Kind.GRAVITY if limits.measure is Measure.SG else Kind.PLAIN


def is_foreign(kind: Kind, taste: Taste) -> bool:
    """Whether this brewer writes such figures in another unit than the service."""
    if kind in (Kind.TEMPERATURE, Kind.SPAN):
        return taste.units != "C"
    return kind is Kind.GRAVITY and taste.gravity != "SG"


def unit_of(kind: Kind, otherwise: str, taste: Taste) -> str:
    """The unit's name beside a field; `otherwise` for figures that everybody writes alike."""
    if kind in (Kind.TEMPERATURE, Kind.SPAN):
        return taste.units
    if kind is Kind.GRAVITY:
        return "SG" if taste.gravity == "SG" else "degrees Plato"
    return otherwise


def taken(kind: Kind, typed: float, taste: Taste) -> float:
    """What was typed, in the service's unit."""
    if kind is Kind.TEMPERATURE:
        return taste.celsius(typed)
    if kind is Kind.SPAN:
        return taste.span_c(typed)
    return taste.sg(typed) if kind is Kind.GRAVITY else typed


def written(kind: Kind, value: float, taste: Taste) -> float:
    """A value of the service, in the brewer's unit."""
    if kind is Kind.TEMPERATURE:
        return taste.degrees(value)
    if kind is Kind.SPAN:
        return taste.span(value)
    return taste.scale(value) if kind is Kind.GRAVITY else value


def as_typed(kind: Kind, value: float, taste: Taste) -> str:
    """A value of the service as it would be typed into a field."""
    if not is_foreign(kind, taste):
        return f"{value:g}"
    return f"{round(written(kind, value, taste), 2):g}"


def outside(field: str, typed: float, limits: Range, taste: Taste) -> Problem | None:
    """The problem with what was typed, told in the brewer's unit; None when it fits, or needs no turning."""
    kind = kind_of(limits)
    if not is_foreign(kind, taste) or limits.low <= taken(kind, typed, taste) <= limits.high:
        return None
    unit = unit_of(kind, limits.unit, taste)
    low, high = (as_typed(kind, end, taste) for end in (limits.low, limits.high))
    allowed = f"{low} to {high} {unit}"
    words = f"The {limits.name} {typed:g} is outside {allowed}."
    other = OTHERS.get(kind)
    if other is not None and limits.low <= typed <= limits.high:
        meant = as_typed(kind, typed, taste)
        return Problem(field, f"{words} It looks like {other}.", f"Give {meant} {unit}.")
    return Problem(field, words, f"Give a value within {allowed}.")
