"""While the brewer is away, on the page of quiet: absences, and a sign of life to somebody else."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Protocol

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from web.counter import Counter
from web.form import Form
from web.house import PageHouse
from web.typed import Typed, Values

ABSENCE = "absence"
HEARTBEAT = "heartbeat"
EVERY = (
    ("60", "every minute"),
    ("300", "every 5 minutes"),
    ("900", "every 15 minutes"),
    ("3600", "every hour"),
    ("86400", "every day"),
)
Again = Callable[[Request, str, Form, int], HTMLResponse]
"""Shows the page again with one of its forms, by its name."""


@dataclass(frozen=True, slots=True)
class AbsenceView:
    """The brewer is away. over: it has passed; holds: it is now."""

    id: str
    begins_at: datetime
    ends_at: datetime
    channel_name: str
    note: str = ""
    holds: bool = False
    over: bool = False


@dataclass(frozen=True, slots=True)
class HeartbeatView:
    """Where signs of life go, with secrets masked. last: how the last one fared, in words."""

    url: str
    every_s: float
    last: str = ""
    arrives: bool = True


class AwayHouse(PageHouse, Protocol):
    """What an absence and a sign of life need."""

    def absences(self) -> Sequence[AbsenceView]:
        """Every absence that is not over, soonest first, and the last that was."""
        ...

    def helper_example(self) -> str:
        """What a helper would read, as an example, with a sentence a line."""
        ...

    def add_absence(self, by: str, fields: Mapping[str, Any]) -> None:
        """Makes an absence: ``from``, ``to``, ``channel_id``, ``note``. InvalidInputError, ConflictError."""
        ...

    def remove_absence(self, absence_id: str, by: str) -> None:
        """The brewer is there after all. NotFoundError."""
        ...

    def heartbeat(self) -> HeartbeatView | None:
        """Where signs of life go, or None."""
        ...

    def set_heartbeat(self, by: str, fields: Mapping[str, Any]) -> None:
        """Sends signs of life: ``url``, ``every_s``. InvalidInputError."""
        ...

    def end_heartbeat(self, by: str) -> None:
        """No more signs of life. NotFoundError when there were none."""
        ...


def add_routes(routes: APIRouter, house: AwayHouse, counter: Counter, again: Again) -> None:
    """The forms; a refused one comes back on its page."""

    @routes.post("/absences")
    def add(request: Request, values: Values) -> Response:
        def act(who: str) -> str:
            taste = house.taste()
            typed = Typed(values).time("from", taste).time("to", taste).text("channel_id", "note")
            house.add_absence(who, typed.done())
            return "/quiet"

        return counter.take(request, values, act, lambda form, status: again(request, ABSENCE, form, status))

    @routes.post("/absences/{absence_id}/remove")
    def remove(request: Request, absence_id: str, values: Values) -> Response:
        def act(who: str) -> str:
            house.remove_absence(absence_id, who)
            return "/quiet"

        return counter.take(request, values, act)

    @routes.post("/heartbeat")
    def settle(request: Request, values: Values) -> Response:
        def act(who: str) -> str:
            typed = Typed(values).number("every_s")
            typed.required("url", "is empty", "Give the address that waits for signs of life.")
            house.set_heartbeat(who, typed.done())
            return "/quiet"

        return counter.take(
            request, values, act, lambda form, status: again(request, HEARTBEAT, form, status)
        )

    @routes.post("/heartbeat/end")
    def end(request: Request, values: Values) -> Response:
        def act(who: str) -> str:
            house.end_heartbeat(who)
            return "/quiet"

        return counter.take(request, values, act)
