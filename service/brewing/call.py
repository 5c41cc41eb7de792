"""How one computation is declared once, so that API, page and documentation are made from the same words."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from service.brewing.ranges import Range
from service.errors import InvalidInputError, Problem


class ArgumentType(StrEnum):
    """What an argument is; the last three are lists."""

    NUMBER = "number"
    INTEGER = "integer"
    BOOLEAN = "boolean"
    CHOICE = "choice"
    TIME = "time"
    NUMBERS = "numbers"
    OBJECTS = "objects"


@dataclass(frozen=True, slots=True)
class Argument:
    """One argument of a call.

    name: as in the JSON and in the function. label and help: for a page. limits: range and unit; the
    function itself checks them, so that a swap of units is named. default: None when it may be left out
    without one. choices: for CHOICE. fields and row: for OBJECTS, what each object holds and becomes.
    """

    name: str
    label: str
    help: str = ""
    type: ArgumentType = ArgumentType.NUMBER
    limits: Range | None = None
    required: bool = True
    default: float | str | bool | None = None
    choices: tuple[str, ...] = ()
    fields: tuple["Argument", ...] = ()
    row: Callable[..., object] | None = None

    @property
    def unit(self) -> str:
        """The unit in words or symbols; empty for a bare number."""
        return self.limits.unit if self.limits is not None else ""


def maybe(
    name: str,
    label: str,
    limits: Range,
    default: float | None,
    help: str = "",
) -> Argument:
    """A number that may be left out."""
    return Argument(name, label, help, limits=limits, required=False, default=default)


def must(name: str, label: str, limits: Range, help: str = "") -> Argument:
    """A number that must be given."""
    return Argument(name, label, help, limits=limits)


@dataclass(frozen=True, slots=True)
class Call:
    """One computation: name (as in the path), title and question for a page, its function and arguments.

    exactly_one_of: names of which just one must be given.
    """

    name: str
    title: str
    question: str
    function: Callable[..., Any]
    arguments: tuple[Argument, ...]
    exactly_one_of: tuple[str, ...] = ()

    def ask(self, given: Mapping[str, object]) -> Any:
        """The function's answer to plain values (numbers, words, lists of mappings, RFC 3339 times).

        Raises InvalidInputError that names each unknown, missing or ill-typed member, or what the
        function itself refuses.
        """
        problems: list[Problem] = []
        values = _values(self.arguments, given, "", problems)
        if problems:
            raise InvalidInputError(*problems)
        return self.function(**values)


def _values(
    arguments: tuple[Argument, ...], given: Mapping[str, object], at: str, problems: list[Problem]
) -> dict[str, object]:
    known = {argument.name for argument in arguments}
    problems.extend(
        Problem(
            f"{at}/{_pointer(name)}", f'There is no "{name}" here.', f"Known are {', '.join(sorted(known))}."
        )
        for name in given
        if name not in known
    )
    values: dict[str, object] = {}
    for argument in arguments:
        value = given.get(argument.name)
        field = f"{at}/{argument.name}"
        if value is not None:
            values[argument.name] = _value(argument, value, field, problems)
        elif argument.required:
            problems.append(Problem(field, f"{argument.label} is missing.", _wanted(argument)))
        elif argument.name in given and argument.default is not None:
            problems.append(Problem(field, f"{argument.label} is null.", "Leave it out for the usual value."))
    return values


def _value(argument: Argument, value: object, field: str, problems: list[Problem]) -> object:
    kind = argument.type
    if kind in (ArgumentType.NUMBERS, ArgumentType.OBJECTS):
        return _list(argument, value, field, problems)
    if kind is ArgumentType.NUMBER and isinstance(value, int | float) and not isinstance(value, bool):
        return _float(value)
    if kind is ArgumentType.INTEGER and isinstance(value, int) and not isinstance(value, bool):
        return value
    if kind is ArgumentType.BOOLEAN and isinstance(value, bool):
        return value
    if kind is ArgumentType.CHOICE and isinstance(value, str) and value in argument.choices:
        return value
    if kind is ArgumentType.TIME and (moment := _moment(value)) is not None:
        return moment
    problems.append(Problem(field, f"{argument.label} is not {_kind_words(argument)}.", _wanted(argument)))
    return None


def _list(argument: Argument, value: object, field: str, problems: list[Problem]) -> object:
    if not isinstance(value, list | tuple):
        problems.append(Problem(field, f"{argument.label} is not a list.", _wanted(argument)))
        return None
    if argument.type is ArgumentType.NUMBERS:
        one = Argument(argument.name, argument.label, argument.help, limits=argument.limits)
        return [_value(one, item, f"{field}/{n}", problems) for n, item in enumerate(value)]
    rows = []
    for n, item in enumerate(value):
        if not isinstance(item, Mapping):
            problems.append(
                Problem(f"{field}/{n}", f"{argument.label} holds something else.", _wanted(argument))
            )
            continue
        before = len(problems)
        values = _values(argument.fields, item, f"{field}/{n}", problems)
        if len(problems) == before and argument.row is not None:
            rows.append(argument.row(**values))
    return rows


def _float(value: float) -> float:
    """The number as a float; an integer too large for one becomes infinity, which every range refuses."""
    try:
        return float(value)
    except OverflowError:
        return math.inf


def _moment(value: object) -> datetime | None:
    if isinstance(value, datetime):
        return value if value.utcoffset() is not None else None
    if not isinstance(value, str) or "T" not in value.upper():
        return None
    try:
        moment = datetime.fromisoformat(value)
    except ValueError:
        return None
    return moment if moment.utcoffset() is not None else None


def _kind_words(argument: Argument) -> str:
    return {
        ArgumentType.NUMBER: "a number",
        ArgumentType.INTEGER: "a whole number",
        ArgumentType.BOOLEAN: "true or false",
        ArgumentType.CHOICE: f"one of {', '.join(argument.choices)}",
        ArgumentType.TIME: "a time with an offset",
        ArgumentType.NUMBERS: "a list of numbers",
        ArgumentType.OBJECTS: "a list of objects",
    }[argument.type]


def _wanted(argument: Argument) -> str:
    limits = f", {argument.limits}" if argument.limits is not None else ""
    return f"Give {_kind_words(argument)}{limits}."


def _pointer(name: str) -> str:
    return name.replace("~", "~0").replace("/", "~1")
