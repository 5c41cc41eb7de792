"""How values travel: times with an offset, plain finite numbers, no unknown members.

The same models serve the API's bodies and the page's forms, so that there is one check of each thing.
"""

import re
from datetime import UTC, datetime
from typing import Annotated, Any, Generic, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    WithJsonSchema,
)

RFC3339 = re.compile(r"^\d{4}-\d\d-\d\d[Tt ]\d\d:\d\d:\d\d(\.\d{1,9})?([Zz]|[+-]\d\d:\d\d)$")


def instant(value: Any) -> datetime:
    """An aware UTC time from RFC 3339 text with an offset; ValueError in words for anything else."""
    if isinstance(value, datetime) and value.tzinfo is not None:
        return value.astimezone(UTC)
    if not isinstance(value, str) or not RFC3339.match(value):
        raise ValueError("must be a time with an offset as RFC 3339 text, such as 2026-11-25T18:00:00Z")
    try:
        at = datetime.fromisoformat(value.replace(" ", "T").upper()).astimezone(UTC)
    except (ValueError, OverflowError):
        raise ValueError("must be a day and time that exist") from None
    if not 1990 <= at.year <= 2200:
        raise ValueError("must lie between the years 1990 and 2200")
    return at


def as_text(at: datetime) -> str:
    """RFC 3339 in UTC with ``Z``; whole seconds unless there are fractions."""
    at = at.astimezone(UTC)
    spec = "milliseconds" if at.microsecond else "seconds"
    return at.isoformat(timespec=spec).replace("+00:00", "Z")


def _no_control(text: str) -> str:
    if any(ord(c) < 32 and c not in "\n\t" for c in text) or any(0xD800 <= ord(c) <= 0xDFFF for c in text):
        raise ValueError("must not contain control characters")
    return text


def _named(text: str) -> str:
    text = text.strip()
    if not text:
        raise ValueError("must not be empty")
    if "\n" in text:
        raise ValueError("must be one line")
    return text


Instant = Annotated[
    datetime,
    BeforeValidator(instant),
    PlainSerializer(as_text, return_type=str, when_used="json"),
    WithJsonSchema({"type": "string", "format": "date-time"}),
]
Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
Text = Annotated[str, Field(strict=True, max_length=4000), AfterValidator(_no_control)]
Name = Annotated[str, Field(strict=True, max_length=120), AfterValidator(_no_control), AfterValidator(_named)]


class Ask(BaseModel):
    """A body that is asked with: unknown members are refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class Answer(BaseModel):
    """What is answered: every member is always there, null when unknown."""

    model_config = ConfigDict(extra="forbid", frozen=True)


T = TypeVar("T")


class Page(Answer, Generic[T]):
    """A list, newest first, and where it goes on."""

    items: list[T]
    next: str | None = None
