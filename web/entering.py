"""What is written down about a batch as fields of a form, and back. Pure.

Packages are rows whose input names are JSON pointers without their first slash (``units/0/size_l``), as
problems name them; shares are typed in percent.
"""

import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from service.brewing import ranges
from service.errors import InvalidInputError, Problem
from web.measures import Kind, as_typed, kind_of
from web.typed import Typed
from web.words import Taste

FLUID = {"sample_c": ranges.SAMPLE_C, "instrument_c": ranges.INSTRUMENT_C}
SHARES = ("extract_share", "fermentable_share")
ROW = re.compile(r"units/(\d{1,2})/(kind|size_l|count|material)")
LEAST_ROWS = 3
MOST_ROWS = 50


def entry_fields(name: str, values: Mapping[str, str], taste: Taste) -> dict[str, Any]:
    """The fields of an entry as they were typed; those of another kind are left for the service to name.

    Raises InvalidInputError for what is missing, no number, or outside limits told in the brewer's unit.
    """
    typed = Typed(values).time("at", taste)
    if name == "readings":
        _reading(typed, values, taste)
    elif name == "sightings":
        typed.required("what", "is not said", "Press what you saw.")
    elif name == "additions":
        typed.required("what", "is empty", "Say what was put in.")
        typed.required("mass_g", "is empty", "Give its weight in grams.").number("mass_g", "water_l")
        for share in SHARES:
            typed.number(f"{share}_percent")
            if (percent := typed.fields.pop(f"{share}_percent", None)) is not None:
                typed.fields[share] = percent / 100
    elif name == "packagings":
        return _packaging(typed, values)
    else:
        typed.required("text", "is empty", "Write a few words.")
    return typed.done()


def _reading(typed: Typed, values: Mapping[str, str], taste: Taste) -> None:
    typed.required("by", "is not chosen", "Say how it was measured.")
    typed.number("sg", "plato", "brix", "kg")
    if values.get("by") in ("hydrometer", "limit-jar"):
        for field, limits in FLUID.items():
            typed.measured(field, limits, taste)
        typed.number("zero_error_pt")
        typed.fields["degassed"] = values.get("degassed") != "no"
    elif values.get("by") == "refractometer":
        typed.number("wort_factor")


def _packaging(typed: Typed, values: Mapping[str, str]) -> dict[str, Any]:
    fields = typed.text("sugar").number("sugar_g").done()
    problems: list[Problem] = []
    units = []
    for n, row in enumerate(rows_of(values)):
        unit: dict[str, Any] = {"kind": row.get("kind", "bottle")}
        unit |= {"material": row["material"]} if row.get("material") else {}
        try:
            unit |= (
                Typed(row).required("size_l", "is empty", "Give the litres of one.").number("size_l").done()
            )
        except InvalidInputError as error:
            problems += [Problem(f"/units/{n}{p.field}", p.problem, p.remedy) for p in error.problems]
        count = row.get("count") or "1"
        if re.fullmatch(r"\d{1,9}", count):
            unit["count"] = int(count)
        else:
            words = "Write it in figures, such as 12."
            problems.append(Problem(f"/units/{n}/count", "is not a whole number", words))
        units.append(unit)
    if not units:
        problems.append(Problem("/units", "nothing is filled in", "Give one line for each size."))
    if fields.get("sugar_g") and "sugar" not in fields:
        problems.append(Problem("/sugar", "is not chosen", "Say which sugar it was."))
    if problems:
        raise InvalidInputError(*problems)
    return {**fields, "units": units}


def rows_of(values: Mapping[str, str]) -> list[dict[str, str]]:
    """The rows of packages in which something was typed, in their order."""
    found: dict[int, dict[str, str]] = {}
    for name, value in values.items():
        if match := ROW.fullmatch(name):
            found.setdefault(int(match[1]), {})[match[2]] = value.strip()
    typed = ("size_l", "count", "material")
    return [found[n] for n in sorted(found) if any(found[n].get(part) for part in typed)][:MOST_ROWS]


def closed_up(values: Mapping[str, str]) -> dict[str, str]:
    """What was typed with empty rows taken out, so that a row's number is its place in the list."""
    kept = {name: value for name, value in values.items() if not name.startswith("units/")}
    for n, row in enumerate(rows_of(values)):
        kept |= {f"units/{n}/{part}": value for part, value in row.items()}
    return kept


def row_count(values: Mapping[str, str]) -> int:
    """How many rows a form has: some more than were filled, and still more when they were asked for."""
    filled = len(rows_of(values))
    return min(MOST_ROWS, max(LEAST_ROWS, filled + 1) + (LEAST_ROWS if values.get("more") else 0))


def entry_values(name: str, found: Mapping[str, Any], taste: Taste) -> dict[str, str]:
    """A stored entry, in the shape of the HTTP contract, as its form shows it."""
    at = taste.local(datetime.fromisoformat(found["at"]))
    values = {"at": f"{at:%Y-%m-%dT%H:%M}"}
    for field, value in found.items():
        if field in SHARES:
            values[f"{field}_percent"] = f"{round(value * 100, 6):g}"
        elif field in FLUID:
            values[field] = as_typed(kind_of(FLUID[field]), value, taste)
        elif isinstance(value, bool):
            values[field] = "yes" if value else "no"
        elif isinstance(value, int | float):
            values[field] = as_typed(Kind.PLAIN, value, taste) if abs(value) < 100_000 else f"{value}"
        elif isinstance(value, str) and field != "at":
            values[field] = value
    if name == "packagings":
        for n, unit in enumerate(found["units"]):
            parts = {"kind": unit["kind"], "size_l": f"{unit['size_l']:g}", "count": str(unit["count"])}
            parts["material"] = unit.get("material") or ""
            values |= {f"units/{n}/{part}": value for part, value in parts.items()}
    return values
