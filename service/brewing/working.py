"""How an answer shows its working: the formula, what went in, where it comes from, where it holds."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Quantity:
    """One input of a computation; value is a number, a word or None when it was not given."""

    name: str
    value: float | str | None
    unit: str = ""


@dataclass(frozen=True, slots=True)
class Working:
    """What a person needs to check an answer by hand.

    formula: in words or symbols. source: who published it, or that it is a rule of the trade.
    limits: where it holds and how far off it may be.
    """

    formula: str
    inputs: tuple[Quantity, ...]
    source: str
    limits: str


@dataclass(frozen=True, slots=True)
class Interval:
    """A value with the ends of its 90 % interval, all in the unit of the field that carries it."""

    value: float
    low: float
    high: float


Z90 = 1.6449
"""Standard deviations from the middle to either end of a 90 % interval (normal distribution)."""
