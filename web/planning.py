"""A plan as rows of a form, and back. What the form does not show of a stage is kept as it was. Pure.

Input names are JSON pointers without their first slash (``stages/0/low_c``), as problems name them; lengths
are typed in hours (``stages/0/lasts_h``) and travel in seconds.
"""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from service.errors import InvalidInputError, Problem

KINDS = (
    ("primary", "primary fermentation"),
    ("rest", "warm rest"),
    ("crash", "cold"),
    ("condition", "conditioning"),
    ("mash", "mash"),
    ("boil", "boil"),
    ("steep", "steep"),
    ("chill", "chill"),
    ("stand", "stand"),
    ("hold", "hold"),
)
ENDS = (
    ("brewer", "when I say so"),
    ("time", "by itself, when its time is over"),
    ("reached", "when its band is reached"),
    ("steady-gravity", "when gravity is steady, and I say so"),
    ("share", "when enough has fermented, and I say so"),
)
BANDS = (("absolute", "temperatures"), ("relative", "distances from the target"))
TEXTS = ("key", "target_c", "from_c", "over_h", "low_c", "high_c", "lasts_h")
CHOICES = ("kind", "ends", "band", "origin")
LEAST_ROWS = 4
MOST_ROWS = 40
HOUR_S = 3600
ROW = re.compile(r"stages/(\d{1,2})/(\w+)")


def rows_of(values: Mapping[str, str]) -> list[dict[str, str]]:
    """The rows in which something was typed, in their order."""
    found: dict[int, dict[str, str]] = {}
    for name, value in values.items():
        if match := ROW.fullmatch(name):
            found.setdefault(int(match[1]), {})[match[2]] = value.strip()
    return [found[n] for n in sorted(found) if any(found[n].get(text) for text in TEXTS)][:MOST_ROWS]


def compacted(values: Mapping[str, str]) -> dict[str, str]:
    """What was typed with empty rows taken out, so that a row's number is its place in the plan."""
    kept = {name: value for name, value in values.items() if not name.startswith("stages/")}
    for n, row in enumerate(rows_of(values)):
        kept |= {f"stages/{n}/{name}": value for name, value in row.items()}
    return kept


def values_of(name: str, stages: Sequence[Mapping[str, Any]]) -> dict[str, str]:
    """A stored plan as the form shows it."""
    values = {"name": name}
    for n, stage in enumerate(stages):
        target = stage.get("target_c")
        ramp = target if isinstance(target, Mapping) else {}
        row = {
            "key": stage["key"],
            "kind": stage["kind"],
            "target_c": _text(ramp.get("to") if ramp else target),
            "from_c": _text(ramp.get("from")),
            "over_h": _hours(ramp.get("over_s")),
            "low_c": _text(stage.get("low_c")),
            "high_c": _text(stage.get("high_c")),
            "band": stage.get("band", "absolute"),
            "lasts_h": _hours(stage.get("lasts_s")),
            "ends": stage.get("ends", "brewer"),
            "origin": str(n),
        }
        values |= {f"stages/{n}/{field}": text for field, text in row.items()}
    return values


def plan_of(values: Mapping[str, str], before: Sequence[Mapping[str, Any]] = ()) -> dict[str, Any]:
    """The plan in the shape of the HTTP contract; InvalidInputError for what is no number."""
    problems: list[Problem] = []
    stages = [_stage(n, row, before, problems) for n, row in enumerate(rows_of(values))]
    if problems:
        raise InvalidInputError(*problems)
    return {"name": values.get("name", "").strip(), "stages": stages}


def in_form(problems: Sequence[Problem]) -> InvalidInputError:
    """Problems of a plan, named after the fields that the form has."""
    return InvalidInputError(
        *(Problem(p.field.replace("/lasts_s", "/lasts_h"), p.problem, p.remedy) for p in problems)
    )


def _stage(
    n: int, row: Mapping[str, str], before: Sequence[Mapping[str, Any]], problems: list[Problem]
) -> dict[str, Any]:
    def number(field: str, factor: float = 1) -> float | None:
        text = row.get(field, "")
        if not text:
            return None
        try:
            return float(text.replace(",", ".").replace("−", "-")) * factor
        except ValueError:
            words = "is not a number"
            problems.append(Problem(f"/stages/{n}/{field}", words, "Write it in figures, such as 18.5."))
            return None

    stage = _kept(row, before)
    target, start, over = number("target_c"), number("from_c"), number("over_h", HOUR_S)
    ramp = {"from": start, "to": target, "over_s": over}
    typed: dict[str, Any] = {
        "key": row.get("key", ""),
        "kind": row.get("kind", ""),
        "target_c": ramp if start is not None or over is not None else target,
        "low_c": number("low_c"),
        "high_c": number("high_c"),
        "band": row.get("band") or None,
        "lasts_s": number("lasts_h", HOUR_S),
        "ends": row.get("ends") or None,
    }
    return {name: value for name, value in {**stage, **typed}.items() if value is not None}


def _kept(row: Mapping[str, str], before: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """What a stored stage holds beyond the form; of another kind only its prompts still make sense."""
    origin = row.get("origin", "")
    if not origin.isdigit() or int(origin) >= len(before):
        return {}
    stage = dict(before[int(origin)])
    return stage if stage.get("kind") == row.get("kind") else {"prompts": stage.get("prompts") or None}


def _text(value: object) -> str:
    return f"{value:g}" if isinstance(value, int | float) else ""


def _hours(value: object) -> str:
    return f"{value / HOUR_S:g}" if isinstance(value, int | float) else ""
