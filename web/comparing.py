"""Batches side by side as the page shows them: curves on one time since pitching, and what differs. Pure."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby

from web.scale import Tick, ticks
from web.words import UNKNOWN, Taste, number

BOX = 1000
LETTERS = "ABCDEF"
MOST_DAYS = 6


@dataclass(frozen=True, slots=True)
class ComparedView:
    """One of the batches. aligned_by: pitching, or start for one that was never pitched."""

    id: str
    name: str
    state: str
    aligned_at: datetime
    aligned_by: str


@dataclass(frozen=True, slots=True)
class DifferenceView:
    """One line: a value for each batch, None where nothing is known. spread: largest less smallest."""

    what: str
    unit: str | None
    values: Sequence[float | str | None]
    spread: float | None
    same: bool


@dataclass(frozen=True, slots=True)
class ComparisonView:
    """Batches side by side. hours: from pitching; liquids: for each batch a mean in each hour, or None."""

    batches: Sequence[ComparedView]
    hours: Sequence[int]
    liquids: Sequence[Sequence[float | None]]
    differences: Sequence[DifferenceView]


@dataclass(frozen=True, slots=True)
class Curve:
    """One batch's runs as SVG points, with its letter at the end of the last, in percent."""

    letter: str
    runs: Sequence[str]
    x: float
    y: float


@dataclass(frozen=True, slots=True)
class Sheet:
    """The drawing: curves, degrees (x is the height from below in percent), days, and where pitching lies."""

    curves: Sequence[Curve]
    degrees: Sequence[Tick]
    days: Sequence[tuple[float, str]]
    pitched: float


def sheet(seen: ComparisonView, taste: Taste) -> Sheet | None:
    """The drawing of a comparison, or None when nothing was measured."""
    known = [v for line in seen.liquids for v in line if v is not None]
    if not known or len(seen.hours) < 2:
        return None
    first, last = seen.hours[0], seen.hours[-1]
    low = taste.celsius(math.floor(taste.degrees(min(known) - 0.5)))
    high = taste.celsius(math.ceil(taste.degrees(max(known) + 0.5)))

    def x(hour: float) -> float:
        return round((hour - first) / (last - first) * BOX, 1)

    def y(temp_c: float) -> float:
        return round(BOX - (temp_c - low) / (high - low) * BOX, 1)

    curves = []
    for letter, line in zip(LETTERS, seen.liquids, strict=False):
        runs = []
        pairs = zip(seen.hours, line, strict=True)
        for has, run in groupby(pairs, key=lambda pair: pair[1] is not None):
            if has:
                runs.append([(x(hour), y(temp_c)) for hour, temp_c in run if temp_c is not None])
        if runs:
            at = runs[-1][-1]
            words = [" ".join(f"{a},{b}" for a, b in (run if len(run) > 1 else run * 2)) for run in runs]
            curves.append(Curve(letter, words, at[0] / 10, at[1] / 10))
    step = max(1, math.ceil((last - first) / 24 / MOST_DAYS))
    days = [
        (x(day * 24) / 10, f"day {day}")
        for day in range(math.ceil(first / 24), last // 24 + 1)
        if day % step == 0
    ]
    return Sheet(curves, [t for t in ticks(low, high, taste) if t.label], days, x(max(0, first)) / 10)


def value_words(line: DifferenceView, value: float | str | None, taste: Taste) -> str:
    """A value of the table in the brewer's units."""
    if value is None:
        return UNKNOWN
    if isinstance(value, str):
        return value
    if line.unit == "C":
        return taste.temperature(value)
    if line.unit == "SG":
        return taste.gravity_words(value)
    if line.unit == "C h":
        return f"{number(taste.span(value))} {taste.units} h"
    return f"{number(value, 0 if line.unit is None else 1)} {line.unit or ''}".rstrip()


def spread_words(line: DifferenceView, taste: Taste) -> str:
    """How far the values lie apart, or nothing where that is not a number."""
    if line.spread is None or line.same:
        return ""
    if line.unit == "C":
        return taste.difference(line.spread)
    if line.unit == "SG":
        known = [taste.scale(v) for v in line.values if isinstance(v, int | float)]
        points = 1000 * line.spread
        return f"{number(points, 1)} points" if taste.gravity == "SG" else number(max(known) - min(known))
    return value_words(line, line.spread, taste)


def apart(seen: ComparisonView) -> list[DifferenceView]:
    """What differs; what is known of no batch is left out."""
    return [d for d in seen.differences if not d.same and any(v is not None for v in d.values)]


def alike(seen: ComparisonView) -> list[DifferenceView]:
    """What was the same in all."""
    return [d for d in seen.differences if d.same and any(v is not None for v in d.values)]
