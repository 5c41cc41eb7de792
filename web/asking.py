"""The arguments of a computation as form fields: which inputs there are, and what was typed as plain values.

Input names are JSON pointers without their first slash (``bottles/0/size_l``), as problems name them. What is
typed in the brewer's unit is turned here, once, and problems come back in that unit.
"""

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TypeVar
from zoneinfo import ZoneInfo

from service.brewing.call import Argument, ArgumentType, Call
from service.errors import InvalidInputError, Problem
from web.measures import Kind, as_typed, is_foreign, kind_of, outside, taken, unit_of
from web.said import said, said_problem
from web.words import Taste

LEAST_ROWS = 3
SPARE_ROWS = 2
MOST_ROWS = 60
Answer = TypeVar("Answer")
YES_NO = (("yes", "yes"), ("no", "no"))


@dataclass(frozen=True, slots=True)
class Input:
    """One input. kind: number, text, time or choice. beginning: what it holds before anything is typed."""

    name: str
    label: str
    kind: str
    unit: str = ""
    help: str = ""
    required: bool = True
    beginning: str = ""
    choices: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Group:
    """A list of rows of inputs under one heading."""

    name: str
    label: str
    help: str
    required: bool
    rows: tuple[tuple[Input, ...], ...]


def inputs(call: Call, values: Mapping[str, str], taste: Taste, more: str = "") -> tuple[Input | Group, ...]:
    """The inputs of a call; a list has some rows more than were filled, and `more` names one to lengthen."""
    return tuple(
        _group(argument, values, taste, more == argument.name)
        if argument.type is ArgumentType.OBJECTS
        else _input(_own(argument, call), argument.name, taste, argument.name in call.exactly_one_of)
        for argument in call.arguments
    )


def compacted(call: Call, values: Mapping[str, str]) -> dict[str, str]:
    """What was typed with empty rows taken out, so that a row's number is its place in the list."""
    typed = {name: value.strip() for name, value in values.items() if "/" not in name}
    for argument in call.arguments:
        if argument.type is not ArgumentType.OBJECTS:
            continue
        for n, row in enumerate(_filled(argument, values)):
            typed |= {f"{argument.name}/{n}/{name}": value for name, value in row.items()}
    return typed


def given(call: Call, values: Mapping[str, str], taste: Taste) -> dict[str, object]:
    """Plain values for the call; what is no number stays text, so that the call names it."""
    found: dict[str, object] = {}
    for argument in call.arguments:
        if argument.type is ArgumentType.OBJECTS:
            rows = [
                {a.name: _plain(a, row[a.name], taste) for a in argument.fields if row.get(a.name)}
                for row in _filled(argument, values)
            ]
            if rows:
                found[argument.name] = rows
        elif text := values.get(argument.name, "").strip():
            found[argument.name] = _plain(_own(argument, call), text, taste)
    return found


def answered(
    call: Call, values: Mapping[str, str], taste: Taste, work: Callable[[dict[str, object]], Answer]
) -> Answer:
    """What `work` makes of what was typed; InvalidInputError in the brewer's units."""
    try:
        return work(given(call, values, taste))
    except InvalidInputError as error:
        raise InvalidInputError(*(_told(p, call, values, taste) for p in error.problems)) from None


def _told(problem: Problem, call: Call, values: Mapping[str, str], taste: Taste) -> Problem:
    """A problem in the brewer's unit, from what was typed rather than from what it was turned into."""
    name, _, rest = problem.field.removeprefix("/").partition("/")
    argument = next((_own(a, call) for a in call.arguments if a.name == name), None)
    text = values.get(problem.field.removeprefix("/"), "")
    if argument is not None and argument.type is ArgumentType.OBJECTS:
        argument = next((a for a in argument.fields if a.name == rest.rpartition("/")[2]), None)
    elif argument is not None and argument.type is ArgumentType.NUMBERS and rest.isdigit():
        parts = _parts(values.get(name, ""))
        text = parts[int(rest)] if int(rest) < len(parts) else ""
    typed = _number(text)
    if argument is not None and argument.limits is not None and isinstance(typed, float):
        return outside(problem.field, typed, argument.limits, taste) or said_problem(problem, taste)
    return said_problem(problem, taste)


def _own(argument: Argument, call: Call) -> Argument:
    """The argument, without its scale where it is asked for in each scale by an argument of its own."""
    if argument.name not in call.exactly_one_of or kind_of(argument.limits) is not Kind.GRAVITY:
        return argument
    return replace(argument, limits=None)


def _input(argument: Argument, name: str, taste: Taste, one_of: bool = False) -> Input:
    kind = {
        ArgumentType.CHOICE: "choice",
        ArgumentType.BOOLEAN: "choice",
        ArgumentType.TIME: "time",
        ArgumentType.NUMBERS: "text",
    }.get(argument.type, "number")
    choices: tuple[tuple[str, str], ...] = ()
    if argument.type is ArgumentType.CHOICE:
        choices = tuple((word, word.replace("-", " ")) for word in argument.choices)
    elif argument.type is ArgumentType.BOOLEAN:
        choices = YES_NO if isinstance(argument.default, bool) else (("", "not said"), *YES_NO)
    help_words = said(argument.help, taste)
    if argument.type is ArgumentType.NUMBERS:
        help_words = f"{help_words} Put a space between them.".strip()
    return Input(
        name=name,
        label=argument.label,
        kind=kind,
        unit=unit_of(kind_of(argument.limits), argument.unit, taste),
        help=help_words,
        required=argument.required and not one_of,
        beginning=_beginning(argument, taste),
        choices=choices,
    )


def _beginning(argument: Argument, taste: Taste) -> str:
    if argument.default is None:
        return ""
    if isinstance(argument.default, bool):
        return "yes" if argument.default else "no"
    if isinstance(argument.default, str):
        return argument.default
    return as_typed(kind_of(argument.limits), argument.default, taste)


def _group(argument: Argument, values: Mapping[str, str], taste: Taste, more: bool) -> Group:
    filled = len(_filled(argument, values))
    count = min(MOST_ROWS, max(LEAST_ROWS, filled + SPARE_ROWS) + (LEAST_ROWS if more else 0))
    rows = tuple(
        tuple(_input(field, f"{argument.name}/{n}/{field.name}", taste) for field in argument.fields)
        for n in range(count)
    )
    return Group(argument.name, argument.label, argument.help, argument.required, rows)


def _filled(argument: Argument, values: Mapping[str, str]) -> list[dict[str, str]]:
    pattern = re.compile(rf"{re.escape(argument.name)}/(\d{{1,3}})/(\w+)")
    rows: dict[int, dict[str, str]] = {}
    for name, value in values.items():
        match = pattern.fullmatch(name)
        if match and value.strip():
            rows.setdefault(int(match[1]), {})[match[2]] = value.strip()
    return [rows[n] for n in sorted(rows)]


def _plain(argument: Argument, text: str, taste: Taste) -> object:
    if argument.type is ArgumentType.NUMBERS:
        return [_turned(argument, part, taste) for part in _parts(text)]
    if argument.type is ArgumentType.BOOLEAN:
        return {"yes": True, "no": False}.get(text, text)
    if argument.type is ArgumentType.TIME:
        return _moment(text, taste)
    if argument.type is ArgumentType.INTEGER:
        return int(text) if re.fullmatch(r"\d{1,9}", text) else text
    return text if argument.type is ArgumentType.CHOICE else _turned(argument, text, taste)


def _parts(text: str) -> list[str]:
    return [part for part in re.split(r"[\s;]+", text) if part]


def _turned(argument: Argument, text: str, taste: Taste) -> object:
    """The number in the service's unit, or the text that is none."""
    typed = _number(text)
    kind = kind_of(argument.limits)
    if not isinstance(typed, float) or not math.isfinite(typed) or not is_foreign(kind, taste):
        return typed
    return taken(kind, typed, taste)


def _number(text: str) -> object:
    try:
        return float(text.replace(",", ".").replace("−", "-"))
    except ValueError:
        return text


def _moment(text: str, taste: Taste) -> object:
    try:
        local = datetime.fromisoformat(text)
    except ValueError:
        return text
    return local.replace(tzinfo=ZoneInfo(taste.timezone)).astimezone(UTC)
