"""On the stove: how long still, is it warm enough, what is wanted now, and one large button."""

from collections.abc import Mapping
from dataclasses import dataclass
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


@dataclass(frozen=True, slots=True)
class StoveView:
    """A batch as somebody at the stove sees it.

    on_the_stove: false once the wort has left the kettle, or the batch has ended. due: what is wanted now,
    oldest first; ahead: what this stage will want, soonest first. next_key: the stage that can be begun,
    or ``end``. undo: what can be taken back. questions: what seems to have begun unsaid.
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


def router(house: StoveHouse, render: Renderer, counter: Counter) -> APIRouter:
    """The page and its two buttons."""
    routes = APIRouter(include_in_schema=False)

    def page(request: Request, batch_id: str, form: Form, status: int = 200) -> HTMLResponse:
        try:
            stove = house.stove(batch_id)
        except GylewatchError as error:
            return render.refusal(request, error)
        return render.page(request, "stove.html", status=status, stove=stove, form=form)

    @routes.get("/stove/{batch_id}")
    def stove(request: Request, batch_id: str) -> HTMLResponse:
        return page(request, batch_id, Form(house.once()))

    @routes.post("/stove/{batch_id}/advance")
    def advance(request: Request, batch_id: str, values: Values) -> Response:
        def act(who: str) -> str:
            typed = Typed(values).required("to", "is not said", "Load the page again.")
            house.advance(batch_id, who, typed.done())
            return f"/stove/{batch_id}"

        return counter.take(request, values, act, lambda form, status: page(request, batch_id, form, status))

    @routes.post("/stove/{batch_id}/undo")
    def undo(request: Request, batch_id: str, values: Values) -> Response:
        def act(who: str) -> str:
            house.undo(batch_id, who)
            return f"/stove/{batch_id}"

        return counter.take(request, values, act, lambda form, status: page(request, batch_id, form, status))

    return routes
