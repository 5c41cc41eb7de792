"""Silence on purpose, on the page of quiet: somebody works at a vessel; what makes no sense at a place."""

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

WORKING = "working"
OUT = "out-of-service"
FOR = (
    ("1800", "half an hour"),
    ("3600", "an hour"),
    ("7200", "2 hours"),
    ("14400", "4 hours"),
    ("28800", "8 hours"),
    ("86400", "a day"),
)
Again = Callable[[Request, str, Form, int], HTMLResponse]
"""Shows the page again with one of its forms, by its name."""


@dataclass(frozen=True, slots=True)
class WorkView:
    """Somebody works at a vessel."""

    vessel_id: str
    vessel_name: str
    until: datetime
    reason: str


@dataclass(frozen=True, slots=True)
class OutView:
    """A kind of alarm that is out of service at a place. cause: who took it out, and why."""

    id: str
    title: str
    where: str
    since: datetime | None
    cause: str


class SilenceHouse(PageHouse, Protocol):
    """What silence on purpose needs."""

    def works(self) -> Sequence[WorkView]:
        """Where somebody works now."""
        ...

    def start_working(self, by: str, fields: Mapping[str, Any]) -> None:
        """Somebody works there for a while: ``vessel_id``, ``for_s``, ``reason``. InvalidInputError."""
        ...

    def stop_working(self, vessel_id: str, by: str) -> None:
        """They are done. NotFoundError when nobody worked there."""
        ...

    def out_of_service(self) -> Sequence[OutView]:
        """What was taken out of service."""
        ...

    def kinds_of_alarm(self) -> Sequence[tuple[str, str]]:
        """What can be taken out of service: key and title."""
        ...

    def places_of_alarms(self) -> Sequence[tuple[str, str]]:
        """Where: a word for it, and its name."""
        ...

    def take_out(self, by: str, fields: Mapping[str, Any]) -> None:
        """Takes a kind of alarm out of service: ``key``, ``where``, ``reason``. InvalidInputError,
        ConflictError when it is out already."""
        ...

    def put_back(self, which: str, by: str) -> None:
        """Back into service. NotFoundError."""
        ...


def add_routes(routes: APIRouter, house: SilenceHouse, counter: Counter, again: Again) -> None:
    """The forms; a refused one comes back on its page."""

    @routes.post("/working")
    def work(request: Request, values: Values) -> Response:
        def act(who: str) -> str:
            typed = Typed(values).text("vessel_id").number("for_s")
            typed.required("reason", "is empty", "Say in a few words what is done there.")
            house.start_working(who, typed.done())
            return "/quiet"

        return counter.take(request, values, act, lambda form, status: again(request, WORKING, form, status))

    @routes.post("/working/{vessel_id}/done")
    def done(request: Request, vessel_id: str, values: Values) -> Response:
        def act(who: str) -> str:
            house.stop_working(vessel_id, who)
            return "/quiet"

        return counter.take(request, values, act)

    @routes.post("/out-of-service")
    def take_out(request: Request, values: Values) -> Response:
        def act(who: str) -> str:
            typed = Typed(values).text("key", "where")
            typed.required("reason", "is empty", "Say in a few words why it makes no sense there.")
            house.take_out(who, typed.done())
            return "/quiet"

        return counter.take(request, values, act, lambda form, status: again(request, OUT, form, status))

    @routes.post("/out-of-service/{which}/back")
    def put_back(request: Request, which: str, values: Values) -> Response:
        def act(who: str) -> str:
            house.put_back(which, who)
            return "/quiet"

        return counter.take(request, values, act)
