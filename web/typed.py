"""What a form brought, turned from text into fields in the shape of the HTTP contract.

The service checks the fields; here only what is no number and no time is refused.
"""

import math
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Annotated, Any
from zoneinfo import ZoneInfo

from fastapi import Depends, Request

from service.brewing.ranges import Range
from service.errors import InvalidInputError, Problem
from web.measures import kind_of, outside, taken
from web.words import Taste

FIELD_LIMIT = 200


async def _typed(request: Request) -> dict[str, str]:
    form = await request.form(max_fields=FIELD_LIMIT, max_files=0)
    return {name: value for name, value in form.items() if isinstance(value, str)}


Values = Annotated[dict[str, str], Depends(_typed)]
"""What a form brought, as text by field name."""


class Typed:
    """Turns text into fields of the contract, collecting what cannot be read; empty text is left out."""

    def __init__(self, values: Mapping[str, str]) -> None:
        self._values = values
        self._problems: list[Problem] = []
        self.fields: dict[str, Any] = {}

    def text(self, *names: str) -> "Typed":
        """Plain text, without the spaces around it."""
        for name in names:
            if value := self._values.get(name, "").strip():
                self.fields[name] = value
        return self

    def required(self, name: str, problem: str, remedy: str) -> "Typed":
        """Plain text that must be there."""
        self.text(name)
        if name not in self.fields:
            self._problems.append(Problem(f"/{name}", problem, remedy))
        return self

    def number(self, *names: str) -> "Typed":
        """Numbers with a decimal point or a decimal comma."""
        for name in names:
            text = self._values.get(name, "").strip()
            if not text:
                continue
            try:
                value = float(text.replace(",", ".").replace("−", "-"))
            except ValueError:
                value = math.nan
            if math.isfinite(value):
                self.fields[name] = value
            else:
                problem = Problem(f"/{name}", "is not a number", "Write it in figures, such as 4.5.")
                self._problems.append(problem)
        return self

    def measured(self, name: str, limits: Range, taste: Taste) -> "Typed":
        """A number in the brewer's unit, turned into the service's; outside it is told in that unit."""
        self.number(name)
        typed = self.fields.get(name)
        if not isinstance(typed, float):  # left empty, or no number
            return self
        problem = outside(f"/{name}", typed, limits, taste)
        if problem is not None:
            del self.fields[name]
            self._problems.append(problem)
        else:
            self.fields[name] = taken(kind_of(limits), typed, taste)
        return self

    def time(self, name: str, taste: Taste) -> "Typed":
        """A local time as ``datetime-local`` sends it, in the brewer's zone; becomes RFC 3339 in UTC."""
        text = self._values.get(name, "").strip()
        if not text:
            return self
        zone = ZoneInfo(taste.timezone)
        try:
            at = datetime.fromisoformat(text).replace(tzinfo=zone).astimezone(UTC)
        except (ValueError, OverflowError):
            problem = Problem(f"/{name}", "is not a time", "Write it as 2026-11-25T18:00.")
            self._problems.append(problem)
            return self
        if at.astimezone(zone).replace(tzinfo=None) != datetime.fromisoformat(text).replace(tzinfo=None):
            words = "does not exist, since the clocks went forward"
            self._problems.append(Problem(f"/{name}", words, "Take an hour later."))
            return self
        self.fields[name] = at.isoformat(timespec="seconds").replace("+00:00", "Z")
        return self

    def done(self) -> dict[str, Any]:
        """The fields; InvalidInputError with everything that could not be read."""
        if self._problems:
            raise InvalidInputError(*self._problems)
        return self.fields
