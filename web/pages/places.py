"""Where a batch is and was: moving it into another vessel, or a part of it, and emptying one of several."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Protocol

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from service.errors import GylewatchError
from web.counter import Counter
from web.form import Form
from web.house import PageHouse
from web.rendering import Renderer
from web.typed import Typed, Values


@dataclass(frozen=True, slots=True)
class PlaceLine:
    """A batch in a vessel; to_at None: still."""

    n: int
    vessel_name: str
    from_at: datetime
    to_at: datetime | None


@dataclass(frozen=True, slots=True)
class PlacesView:
    """A batch's places, newest first. vessels: (id, name) of those it could go into. over: it has ended."""

    id: str
    name: str
    lines: tuple[PlaceLine, ...]
    vessels: tuple[tuple[str, str], ...]
    here: tuple[tuple[str, str], ...]
    over: bool

    @property
    def where(self) -> str:
        """The vessels it is in now, in words."""
        names = [name for _, name in self.here]
        return " and ".join(names) if len(names) < 3 else f"{', '.join(names[:-1])} and {names[-1]}"


class PlacesHouse(PageHouse, Protocol):
    """What the page needs."""

    def places(self, batch_id: str) -> PlacesView:
        """Where a batch is and was. NotFoundError."""
        ...

    def move(self, batch_id: str, by: str, fields: Mapping[str, Any]) -> None:
        """Moves it, or a part. InvalidInputError, NotFoundError, ConflictError."""
        ...

    def empty(self, batch_id: str, n: int, by: str) -> None:
        """One of its vessels is empty now. InvalidInputError, NotFoundError, ConflictError."""
        ...


def router(house: PlacesHouse, render: Renderer, counter: Counter) -> APIRouter:
    """The page and its forms."""
    routes = APIRouter(include_in_schema=False)

    def page(request: Request, batch_id: str, form: Form | None = None, status: int = 200) -> HTMLResponse:
        try:
            found = house.places(batch_id)
        except GylewatchError as error:
            return render.refusal(request, error)
        once = house.once()
        return render.page(
            request, "batch_places.html", status=status, where=found, form=form or Form(once), once=once
        )

    @routes.get("/batches/{batch_id}/places")
    def places(request: Request, batch_id: str) -> HTMLResponse:
        return page(request, batch_id)

    @routes.post("/batches/{batch_id}/places")
    def move(request: Request, batch_id: str, values: Values) -> Response:
        def act(who: str) -> str:
            taste = house.taste()
            typed = Typed(values).required("vessel_id", "is not chosen", "Choose the vessel it goes into.")
            fields = typed.text("leaves").time("from", taste).done()
            fields["also"] = bool(values.get("also"))
            house.move(batch_id, who, fields)
            return f"/batches/{batch_id}/places"

        def again(form: Form, status: int) -> HTMLResponse:
            return page(request, batch_id, form, status)

        return counter.take(request, values, act, again)

    @routes.post("/batches/{batch_id}/places/{n}/empty")
    def empty(request: Request, batch_id: str, n: int, values: Values) -> Response:
        def act(who: str) -> str:
            house.empty(batch_id, n, who)
            return f"/batches/{batch_id}/places"

        def again(form: Form, status: int) -> HTMLResponse:
            return page(request, batch_id, form, status)

        return counter.take(request, values, act, again)

    return routes
