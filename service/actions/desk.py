"""What every action needs at hand, and small things they share."""

import re
import unicodedata
from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from pydantic import BaseModel

from service.access.door import Access
from service.errors import InvalidInputError, Problem
from service.record.database import Record
from service.watch.fits import Worker
from service.watch.heartbeat import Heartbeat
from service.watch.loop import Watch


@dataclass(frozen=True, slots=True)
class Desk:
    """The record, the watch, the clock, the brewer's time zone, and who does the heavy computing.

    heartbeat: the part that sends signs of life, None where none runs.
    """

    record: Record
    watch: Watch
    now: Callable[[], datetime]
    zone: ZoneInfo
    worker: Worker = field(default_factory=Worker)
    heartbeat: Heartbeat | None = None
    access: Access = field(default_factory=Access)


def short_id(name: str, taken: Collection[str], otherwise: str) -> str:
    """A short readable id made from a name: lower-case letters, digits and hyphens, not taken yet."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    base = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40].strip("-") or otherwise
    if base not in taken:
        return base
    n = 2
    while f"{base}-{n}" in taken:
        n += 1
    return f"{base}-{n}"


def changes_of(ask: BaseModel, required: Collection[str]) -> dict[str, Any]:
    """What a merge patch changes; clearing something required is refused."""
    given = {name: getattr(ask, name) for name in ask.model_fields_set}
    wrong = [
        Problem(f"/{name}", "cannot be cleared", "Give another value, or leave it out.")
        for name in required
        if name in given and given[name] is None
    ]
    if wrong:
        raise InvalidInputError(*wrong)
    return given


def not_ahead(at: datetime, now: datetime, field: str) -> datetime:
    """The time, unless it lies in the future."""
    if at > now:
        raise InvalidInputError(Problem(field, "lies in the future", "Give a time that has passed."))
    return at
