"""The alarms: what stands, what it means, what to do; and what there was before."""

from collections.abc import Mapping, Sequence
from typing import Any, Protocol

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from service.errors import GylewatchError
from web.counter import Counter
from web.form import Form
from web.house import PageHouse
from web.rendering import Renderer
from web.typed import Typed, Values
from web.views import AlarmView


class AlarmsHouse(PageHouse, Protocol):
    """What the page of alarms needs."""

    def past_alarms(self, cursor: str | None) -> tuple[Sequence[AlarmView], str | None]:
        """Alarms that are over, newest first, and the cursor of the next page."""
        ...

    def acknowledge(self, alarm_id: str, by: str, note: str) -> None:
        """Marks an alarm as seen. NotFoundError, ConflictError when it was seen before."""
        ...

    def shelve(self, alarm_id: str, by: str, fields: Mapping[str, Any]) -> None:
        """Silence for a while: ``for_s`` and ``reason``. InvalidInputError, NotFoundError, ConflictError."""
        ...

    def unshelve(self, alarm_id: str, by: str) -> None:
        """Ends a shelving before its time. NotFoundError, ConflictError."""
        ...


def router(house: AlarmsHouse, render: Renderer, counter: Counter) -> APIRouter:
    """The page and its forms."""
    routes = APIRouter(include_in_schema=False)

    def page(
        request: Request, cursor: str | None, form: Form, wrong_id: str = "", status: int = 200
    ) -> HTMLResponse:
        past, following = house.past_alarms(cursor)
        return render.page(
            request,
            "alarms.html",
            status=status,
            past=past,
            following=following,
            form=form,
            wrong_id=wrong_id,
        )

    @routes.get("/alarms")
    def alarms(request: Request, cursor: str | None = None) -> HTMLResponse:
        try:
            return page(request, cursor, Form())
        except GylewatchError as error:
            return render.refusal(request, error)

    @routes.post("/alarms/{alarm_id}/acknowledge")
    def acknowledge(request: Request, alarm_id: str, values: Values) -> Response:
        def act(who: str) -> str:
            house.acknowledge(alarm_id, who, values.get("note", "").strip())
            return values.get("back", "/alarms")

        return counter.take(request, values, act)

    @routes.post("/alarms/{alarm_id}/shelve")
    def shelve(request: Request, alarm_id: str, values: Values) -> Response:
        def act(who: str) -> str:
            typed = Typed(values).number("for_s")
            typed.required("reason", "is empty", "Say in a few words why it may wait.")
            house.shelve(alarm_id, who, typed.done())
            return "/alarms"

        return counter.take(
            request, values, act, lambda form, status: page(request, None, form, alarm_id, status)
        )

    @routes.post("/alarms/{alarm_id}/unshelve")
    def unshelve(request: Request, alarm_id: str, values: Values) -> Response:
        def act(who: str) -> str:
            house.unshelve(alarm_id, who)
            return "/alarms"

        return counter.take(request, values, act)

    return routes
