"""Scenario files: JSON in, a scenario out, or one clear sentence about what is wrong and how to mend it.

The dataclasses of the scenario are the format: their fields, defaults and limits are read from them.
"""

import json
from collections.abc import Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from datetime import UTC, datetime
from enum import StrEnum
from pathlib import Path
from types import NoneType, UnionType
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from sensors.simulated.checks import check
from sensors.simulated.kettle_scene import KettleScene
from sensors.simulated.limits import Between
from sensors.simulated.problems import ScenarioError
from sensors.simulated.scenario import Scenario

AnyScenario = Scenario | KettleScene

_LONGEST_TEXT = 200
_LARGEST_FILE = 1_000_000


def load_scenario(path: Path, starts: datetime | None = None) -> AnyScenario:
    """The scenario in a file. starts: begin then (aware UTC) and not when the file says.

    Raises ScenarioError when the file cannot be read or says something that cannot be simulated.
    """
    try:
        if path.stat().st_size > _LARGEST_FILE:
            raise ScenarioError("", f"{path} is larger than 1 MB", "A scenario is a small file: give that.")
        text = path.read_text("utf-8")
    except OSError as error:
        raise ScenarioError("", f"{path} cannot be read ({error.strerror})", "Check the path.") from error
    except UnicodeDecodeError as error:
        raise ScenarioError("", f"{path} is not text", "Save it as JSON in UTF-8.") from error
    return read_scenario(text, starts)


def read_scenario(text: str, starts: datetime | None = None) -> AnyScenario:
    """The scenario that a JSON text describes.

    starts: begin then (aware UTC) and not when the text says. Raises ScenarioError, naming field and remedy.
    """
    try:
        given = json.loads(text, object_pairs_hook=_without_repeats)
    except (ValueError, RecursionError) as error:
        if isinstance(error, ScenarioError):
            raise
        raise ScenarioError("", f"this is not JSON ({error})", "Mend it at the place it names.") from error
    if isinstance(given, dict) and starts is not None:
        given["starts"] = starts.isoformat()
    scenario = _union((Scenario, KettleScene), given, "", usual=Scenario.kind)
    assert isinstance(scenario, Scenario | KettleScene)
    check(scenario)
    return scenario


def _without_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ScenarioError("", f"{twice} is there twice in one object", "Keep one of them.")
    return found


def _value(kind: Any, given: object, where: str) -> object:
    """What was given as a value of an annotated type."""
    origin = get_origin(kind)
    if origin is Annotated:
        _, limits = get_args(kind)
        return _number(limits, given, where)
    if origin in (Union, UnionType):
        return _one_of(get_args(kind), given, where)
    if origin is tuple:
        return _list(get_args(kind)[0], given, where)
    if origin is Mapping:
        return _object(get_args(kind)[1], given, where)
    if is_dataclass(kind):
        return _record(kind, given, where)
    if kind is str:
        return _text(given, where)
    if kind is datetime:
        return _time(given, where)
    assert issubclass(kind, StrEnum)
    return _word(kind, given, where)


def _one_of(kinds: tuple[Any, ...], given: object, where: str) -> object:
    rest = tuple(kind for kind in kinds if kind is not NoneType)
    if given is None and len(rest) < len(kinds):
        return None
    return _value(rest[0], given, where) if len(rest) == 1 else _union(rest, given, where)


def _union(kinds: tuple[Any, ...], given: object, where: str, usual: str | None = None) -> object:
    """One of several records, told apart by their `kind`."""
    if not isinstance(given, dict):
        raise ScenarioError(where, f"{_shown(given)} is no object", "Give an object in braces.")
    by_name = {kind.kind: kind for kind in kinds}
    name = given.get("kind", usual)
    if not isinstance(name, str) or name not in by_name:
        found = "the kind is missing" if name is None else f"there is no kind {_shown(name)}"
        raise ScenarioError(f"{where}/kind", found, f"Give one of: {', '.join(by_name)}.")
    return _record(by_name[name], {key: value for key, value in given.items() if key != "kind"}, where)


def _record(kind: Any, given: object, where: str) -> object:
    if not isinstance(given, dict):
        raise ScenarioError(where, f"{_shown(given)} is no object", "Give an object in braces.")
    hints = get_type_hints(kind, include_extras=True)
    known = {field.name: field for field in fields(kind)}
    for name in given:
        if name not in known:
            raise ScenarioError(
                f"{where}/{name}",
                "there is no such field",
                f"Leave it out, or use one of: {', '.join(known)}.",
            )
    for name, field in known.items():
        if name not in given and _is_needed(field):
            raise ScenarioError(f"{where}/{name}", "it is missing", f"Give {_wanted(hints[name])}.")
    built: object = kind(
        **{name: _value(hints[name], value, f"{where}/{name}") for name, value in given.items()}
    )
    return built


def _is_needed(field: Field[Any]) -> bool:
    return field.default is MISSING and field.default_factory is MISSING


def _number(limits: Between, given: object, where: str) -> float:
    remedy = f"Give {_range(limits)}."
    if isinstance(given, bool) or not isinstance(given, int | float):
        raise ScenarioError(where, f"{_shown(given)} is no number", remedy)
    if not limits.low <= given <= limits.high:
        raise ScenarioError(where, f"{_shown(given)} is out of range", remedy)
    return float(given)


def _text(given: object, where: str) -> str:
    if not isinstance(given, str) or not given.strip() or len(given) > _LONGEST_TEXT:
        raise ScenarioError(
            where, f"{_shown(given)} is no name", f"Give a text of 1 to {_LONGEST_TEXT} letters."
        )
    return given


def _word(kind: type[StrEnum], given: object, where: str) -> StrEnum:
    if not isinstance(given, str) or given not in list(kind):
        raise ScenarioError(where, f"{_shown(given)} is not known", f"Give one of: {', '.join(kind)}.")
    return kind(given)


def _time(given: object, where: str) -> datetime:
    remedy = "Give a time with its zone, such as 2026-03-02T18:00:00Z."
    try:
        when = datetime.fromisoformat(given) if isinstance(given, str) else None
    except ValueError:
        when = None
    if when is None:
        raise ScenarioError(where, f"{_shown(given)} is no time", remedy)
    if when.tzinfo is None:
        raise ScenarioError(where, f"{_shown(given)} has no time zone", remedy)
    return when.astimezone(UTC)


def _list(kind: Any, given: object, where: str) -> tuple[object, ...]:
    if not isinstance(given, list):
        raise ScenarioError(where, f"{_shown(given)} is no list", "Give a list in square brackets.")
    return tuple(_value(kind, item, f"{where}/{number}") for number, item in enumerate(given))


def _object(kind: Any, given: object, where: str) -> Mapping[str, object]:
    if not isinstance(given, dict) or not given:
        raise ScenarioError(
            where, f"{_shown(given)} is no object with names", "Give at least one, by its name."
        )
    return {name: _value(kind, item, f"{where}/{name}") for name, item in given.items()}


def _wanted(kind: Any) -> str:
    if get_origin(kind) is Annotated:
        return _range(get_args(kind)[1])
    if kind is datetime:
        return "a time with its zone"
    if kind is str:
        return "a text"
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        return f"one of: {', '.join(kind)}"
    return "a list" if get_origin(kind) is tuple else "an object"


def _range(limits: Between) -> str:
    return f"a number from {limits.low:g} to {limits.high:g} {limits.unit}"


def _shown(given: object) -> str:
    text = json.dumps(given, ensure_ascii=False)
    return text if len(text) <= 60 else f"{text[:57]}..."
