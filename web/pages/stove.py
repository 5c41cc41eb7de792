"""On the stove: how long still, is it warm enough, what is wanted now, and one large button.

On a screen that others pass by, a button must be held; a mere tap is asked about first.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Protocol

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from service.errors import GylewatchError
from web.counter import Counter
from web.form import Form
from web.house import PageHouse
from web.questions import QuestionView
from web.rendering import Renderer
from web.typed import Typed, Values
from web.views import StageView, TimedWords, VesselView

MORE_MIN = 5
"""What one press lets a stage last longer, in minutes."""


@dataclass(frozen=True, slots=True)
class ColdAt:
    """When the wort is as cold as a stage wants it, with the ends of its 90 % interval, modelled.

    at None: not with this bath. low, high None: not to be told. ice_kg: ice that would take it there now.
    """

    stage: str
    temp_c: float
    at: datetime | None = None
    low: datetime | None = None
    high: datetime | None = None
    ice_kg: float | None = None


@dataclass(frozen=True, slots=True)
class Chill:
    """A wort that is being chilled. sentence: what its curve says, or why nothing can be said yet."""

    sentence: str
    targets: tuple[ColdAt, ...] = ()


@dataclass(frozen=True, slots=True)
class StoveView:
    """A batch as somebody at the stove sees it.

    on_the_stove: false once the wort has left the kettle, or the batch has ended. due: what is wanted now,
    oldest first; ahead: what this stage will want, soonest first. next_key: the stage that can be begun,
    or ``end``. undo: what can be taken back. questions: what seems to have begun unsaid.
    chill: None where nothing is being chilled.
    """

    id: str
    name: str
    on_the_stove: bool
    stage: StageView | None = None
    vessel: VesselView | None = None
    due: tuple[TimedWords, ...] = ()
    ahead: tuple[TimedWords, ...] = ()
    next_key: str | None = None
    undo: str | None = None
    questions: tuple[QuestionView, ...] = ()
    chill: Chill | None = None


class StoveHouse(PageHouse, Protocol):
    """What the page of the stove needs."""

    def stove(self, batch_id: str) -> StoveView:
        """A batch at the stove. NotFoundError."""
        ...

    def advance(self, batch_id: str, by: str, fields: Mapping[str, Any]) -> None:
        """Enters a stage: ``to``. InvalidInputError, ConflictError."""
        ...

    def undo(self, batch_id: str, by: str) -> None:
        """Takes the last change back. NotFoundError, ConflictError."""
        ...

    def prolong(self, batch_id: str, by: str, minutes: int) -> None:
        """Lets the stage last longer; one that is over its time from now on. ConflictError."""
        ...


def router(house: StoveHouse, render: Renderer, counter: Counter) -> APIRouter:
    """The page and its buttons."""
    routes = APIRouter(include_in_schema=False)

    def page(
        request: Request, batch_id: str, form: Form, status: int = 200, *, shared: bool, confirm: str = ""
    ) -> HTMLResponse:
        try:
            stove = house.stove(batch_id)
        except GylewatchError as error:
            return render.refusal(request, error)
        return render.page(
            request, "stove.html", status=status, stove=stove, form=form, shared=shared, confirm=confirm
        )

    @routes.get("/stove/{batch_id}")
    def stove(request: Request, batch_id: str, shared: str = "") -> HTMLResponse:
        return page(request, batch_id, Form(house.once()), shared=shared == "yes")

    def take(
        request: Request, batch_id: str, values: Values, what: str, act: Callable[[str], str]
    ) -> Response:
        shared = values.get("shared") == "yes"

        def again(form: Form, status: int) -> HTMLResponse:
            return page(request, batch_id, form, status, shared=shared)

        if shared and values.get("held") != "yes":
            return page(request, batch_id, Form(house.once()), shared=True, confirm=what)
        return counter.take(request, values, act, again)

    @routes.post("/stove/{batch_id}/advance")
    def advance(request: Request, batch_id: str, values: Values) -> Response:
        def act(who: str) -> str:
            typed = Typed(values).required("to", "is not said", "Load the page again.")
            house.advance(batch_id, who, typed.done())
            return back(batch_id, values)

        return take(request, batch_id, values, "advance", act)

    @routes.post("/stove/{batch_id}/undo")
    def undo(request: Request, batch_id: str, values: Values) -> Response:
        def act(who: str) -> str:
            house.undo(batch_id, who)
            return back(batch_id, values)

        return take(request, batch_id, values, "undo", act)

    @routes.post("/stove/{batch_id}/prolong")
    def prolong(request: Request, batch_id: str, values: Values) -> Response:
        def act(who: str) -> str:
            house.prolong(batch_id, who, MORE_MIN)
            return back(batch_id, values)

        return take(request, batch_id, values, "prolong", act)

    return routes


def back(batch_id: str, values: Mapping[str, str]) -> str:
    """The page again, still as a shared screen where it was one."""
    return f"/stove/{batch_id}" + ("?shared=yes" if values.get("shared") == "yes" else "")
