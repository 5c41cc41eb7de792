"""The numbers that need no batch, as plain values."""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import datetime
from enum import Enum
from typing import Any

from service.actions.wire import as_text
from service.brewing.call import Call
from service.brewing.calls import CALLS
from service.errors import InvalidInputError, NotFoundError, Problem

BY_NAME: Mapping[str, Call] = {call.name: call for call in CALLS}


def call_by_name(name: str) -> Call:
    """The declaration of a computation; NotFoundError when there is none."""
    if name not in BY_NAME:
        raise NotFoundError(f"There is no computation {name!r}; there are {', '.join(sorted(BY_NAME))}.")
    return BY_NAME[name]


def compute(name: str, body: object) -> dict[str, Any]:
    """The answer of a computation to a JSON body."""
    call = call_by_name(name)
    if not isinstance(body, Mapping):
        raise InvalidInputError(
            Problem("", "is no JSON object", "Send the members this computation asks for.")
        )
    answer: dict[str, Any] = plain(call.ask(body))
    return answer


def plain(value: Any) -> Any:
    """A value made of dataclasses, enums and times as plain JSON values."""
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in fields(value)}
    if isinstance(value, datetime):
        return as_text(value)
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Mapping):
        return {key: plain(one) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [plain(one) for one in value]
    return value
