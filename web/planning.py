"""A plan as rows of a form, and back. What the form does not show of a stage is kept as it was. Pure.

Input names are JSON pointers without their first slash (``stages/0/low_c``), as problems name them; lengths
are typed in hours (``stages/0/lasts_h``) and travel in seconds, temperatures are typed in the brewer's unit.
"""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from service.errors import InvalidInputError, Problem
from web.measures import Kind, taken, written
from web.said import said_problem
from web.words import Taste

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
CELSIUS = Taste()
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


def values_of(name: str, stages: Sequence[Mapping[str, Any]], taste: Taste = CELSIUS) -> dict[str, str]:
    """A stored plan as the form shows it."""
    values = {"name": name}
    for n, stage in enumerate(stages):
        target = stage.get("target_c")
        ramp = target if isinstance(target, Mapping) else {}
        limit = _limit_kind(stage.get("band"))
        row = {
            "key": stage["key"],
            "kind": stage["kind"],
            "target_c": _text(ramp.get("to") if ramp else target, Kind.TEMPERATURE, taste),
            "from_c": _text(ramp.get("from"), Kind.TEMPERATURE, taste),
            "over_h": _hours(ramp.get("over_s")),
            "low_c": _text(stage.get("low_c"), limit, taste),
            "high_c": _text(stage.get("high_c"), limit, taste),
            "band": stage.get("band", "absolute"),
            "lasts_h": _hours(stage.get("lasts_s")),
            "ends": stage.get("ends", "brewer"),
            "origin": str(n),
        }
        values |= {f"stages/{n}/{field}": text for field, text in row.items()}
    return values


def plan_of(
    values: Mapping[str, str], before: Sequence[Mapping[str, Any]] = (), taste: Taste = CELSIUS
) -> dict[str, Any]:
    """The plan in the shape of the HTTP contract; InvalidInputError for what is no number."""
    problems: list[Problem] = []
    stages = [_stage(n, row, before, problems, taste) for n, row in enumerate(rows_of(values))]
    if problems:
        raise InvalidInputError(*problems)
    return {"name": values.get("name", "").strip(), "stages": stages}


def in_form(problems: Sequence[Problem], taste: Taste = CELSIUS) -> InvalidInputError:
    """Problems of a plan, named after the fields that the form has, in the brewer's unit."""
    told = (p if taste.units == "C" else _without_guess(p) for p in problems)
    return InvalidInputError(
        *(
            said_problem(Problem(p.field.replace("/lasts_s", "/lasts_h"), p.problem, p.remedy), taste)
            for p in told
        )
    )


def _without_guess(problem: Problem) -> Problem:
    """Who types Fahrenheit is not told that it looks like it."""
    words, guess, _ = problem.problem.partition("; that looks like Fahrenheit")
    return Problem(problem.field, words, "give one that a stage can have") if guess else problem


def _stage(
    n: int,
    row: Mapping[str, str],
    before: Sequence[Mapping[str, Any]],
    problems: list[Problem],
    taste: Taste,
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

    def degrees(field: str, kind: Kind = Kind.TEMPERATURE) -> float | None:
        value = number(field)
        return None if value is None else taken(kind, value, taste)

    stage = _kept(row, before)
    target, start, over = degrees("target_c"), degrees("from_c"), number("over_h", HOUR_S)
    limit = _limit_kind(row.get("band"))
    ramp = {"from": start, "to": target, "over_s": over}
    typed: dict[str, Any] = {
        "key": row.get("key", ""),
        "kind": row.get("kind", ""),
        "target_c": ramp if start is not None or over is not None else target,
        "low_c": degrees("low_c", limit),
        "high_c": degrees("high_c", limit),
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


def _limit_kind(band: object) -> Kind:
    """What low and high are: temperatures, or distances from the target."""
    return Kind.SPAN if band == "relative" else Kind.TEMPERATURE


def _text(value: object, kind: Kind, taste: Taste) -> str:
    return f"{written(kind, value, taste):g}" if isinstance(value, int | float) else ""


def _hours(value: object) -> str:
    return f"{value / HOUR_S:g}" if isinstance(value, int | float) else ""
