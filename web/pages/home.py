"""The first page: is it all right, what is happening, what should I do."""

from collections.abc import Sequence
from typing import Annotated, Protocol

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, Response

from service.errors import GylewatchError
from web.answer import answer
from web.house import PageHouse
from web.rendering import Renderer, back_to
from web.views import VesselView


class HomeHouse(PageHouse, Protocol):
    """What the first page needs."""

    def vessels_now(self) -> Sequence[VesselView]:
        """Every vessel as it is now, in the brewer's order."""
        ...

    def acknowledge(self, alarm_id: str, by: str, note: str) -> None:
        """Marks an alarm as seen. NotFoundError, ConflictError when it no longer stands."""
        ...


def router(house: HomeHouse, render: Renderer) -> APIRouter:
    """The page and its one form."""
    routes = APIRouter(include_in_schema=False)

    @routes.get("/")
    def vessels(request: Request) -> HTMLResponse:
        seen = house.vessels_now()
        standing = house.standing()
        return render.page(
            request, "home.html", vessels=seen, standing=standing, answer=answer(seen, standing)
        )

    @routes.post("/alarms/{alarm_id}/acknowledge")
    def acknowledge(
        request: Request,
        alarm_id: str,
        token: Annotated[str, Form()] = "",
        note: Annotated[str, Form()] = "",
        back: Annotated[str, Form()] = "/",
    ) -> Response:
        who = house.admit(request, token)
        if who is None:
            return render.stranger(request)
        try:
            house.acknowledge(alarm_id, who, note.strip())
        except GylewatchError as error:
            return render.refusal(request, error)
        return back_to(request, back)

    return routes
