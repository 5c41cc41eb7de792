"""An answer of a computation as lines and tables with names, units and intervals, of any shape. Pure.

Figures are in the brewer's units; the working stays in those of its formula, to be checked by hand.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from service.brewing.working import Interval, Working
from web.said import said
from web.words import Taste, capital, duration, number

NAMES = {
    "sg": ("Gravity", "SG"),
    "plato": ("Extract", "degrees Plato"),
    "low": ("Low end (90 %)", ""),
    "high": ("High end (90 %)", ""),
    "litres": ("Volume", "L"),
    "kg": ("Mass", "kg"),
    "grams": ("Sugar each", "g"),
    "grams_per_l": ("Per litre", "g"),
    "grams_total": ("In all", "g"),
    "volumes": ("Carbonation", "volumes"),
    "residual_volumes": ("Held already", "volumes"),
    "tau": ("Time constant", "s"),
    "at_c": ("At", "C"),
    "at": ("When", ""),
    "og_equivalent": ("Original gravity as if from the start", "SG"),
}
UNITS = {
    "c": "C",
    "l": "L",
    "kg": "kg",
    "g": "g",
    "bar": "bar",
    "percent": "%",
    "plato": "degrees Plato",
    "sg": "SG",
    "pt": "points",
    "volumes": "volumes",
    "days": "days",
    "minutes": "min",
}
ENDS = ("low", "high")
APART = ("working", "cautions", "refused")


@dataclass(frozen=True, slots=True)
class Line:
    """A value with its name."""

    name: str
    words: str


@dataclass(frozen=True, slots=True)
class Table:
    """Values of several like things."""

    name: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Shown:
    """A whole answer. refused: why there is none, in words."""

    lines: tuple[Line, ...]
    tables: tuple[Table, ...]
    cautions: tuple[str, ...]
    refused: str
    working: Working | None


def shown(answer: Any, taste: Taste, now: datetime) -> Shown:
    """The answer for a page."""
    lines: list[Line] = []
    tables: list[Table] = []
    own = replace(taste, gravity="SG") if hasattr(answer, "plato") else taste
    for field in fields(answer):
        value = getattr(answer, field.name)
        if field.name in APART:
            continue
        if isinstance(value, tuple | list):
            if value:
                tables.append(_table(field.name, value, own, now))
        else:
            name, unit = named(field.name)
            if field.name in ENDS:  # of an interval round the answer's first value
                unit = named(fields(answer)[0].name)[1]
            lines.append(Line(name, _words(value, unit, own, now)))
    working = getattr(answer, "working", None)
    return Shown(
        tuple(lines),
        tuple(tables),
        tuple(said(words, taste) for words in getattr(answer, "cautions", ())),
        said(getattr(answer, "refused", None) or "", taste),
        working if isinstance(working, Working) else None,
    )


def named(name: str) -> tuple[str, str]:
    """A field's name in words, and its unit from its last part."""
    if name in NAMES:
        return NAMES[name]
    stem, _, last = name.rpartition("_")
    if stem and last == "s":
        return capital(stem.replace("_", " ")), "s"
    if stem and last in UNITS and not stem.endswith("_per"):
        return capital(stem.replace("_", " ")), UNITS[last]
    return capital(name.replace("_", " ")), ""


def _table(name: str, values: Sequence[Any], taste: Taste, now: datetime) -> Table:
    title = named(name)[0]
    if not is_dataclass(values[0]):
        unit = named(name)[1]
        return Table(title, (title,), tuple((_words(v, unit, taste, now),) for v in values))
    columns = [field.name for field in fields(values[0])]
    heads = tuple(named(column)[0] for column in columns)
    rows = tuple(
        tuple(_words(getattr(one, column), named(column)[1], taste, now) for column in columns)
        for one in values
    )
    return Table(title, heads, rows)


def _words(value: Any, unit: str, taste: Taste, now: datetime) -> str:
    if value is None:
        return "not known"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return taste.moment(value, now)
    if isinstance(value, Interval):
        low, high = _figure(value.low, unit, taste), _figure(value.high, unit, taste)
        return f"{_figure(value.value, unit, taste)} (90 %: {low} to {high})"
    if isinstance(value, int | float):
        return _figure(value, unit, taste)
    if is_dataclass(value):
        inner = ((field.name, getattr(value, field.name)) for field in fields(value))
        return ", ".join(f"{named(n)[0]} {_words(v, named(n)[1], taste, now)}" for n, v in inner)
    return str(value)


def _figure(value: float, unit: str, taste: Taste) -> str:
    if unit == "s":
        return duration(timedelta(seconds=value))
    if unit == "C":
        value, unit = taste.degrees(value), taste.units
    if unit == "SG":
        return taste.gravity_words(value, 4)
    if isinstance(value, int):
        text = str(value)
    else:
        text = number(value, 2 if abs(value) < 10 else 1 if abs(value) < 1000 else 0)
    return f"{text} {unit}".rstrip()
