"""The first page: is it all right, what is happening, what should I do."""

from collections.abc import Sequence
from typing import Protocol

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from web.answer import answer
from web.house import PageHouse
from web.rendering import Renderer
from web.views import VesselView


class HomeHouse(PageHouse, Protocol):
    """What the first page needs."""

    def vessels_now(self) -> Sequence[VesselView]:
        """Every vessel as it is now, in the brewer's order."""
        ...

    def anyone_told(self) -> bool:
        """Whether a message would reach the brewer by some channel."""
        ...


def router(house: HomeHouse, render: Renderer) -> APIRouter:
    """The page; what it sends goes to the page of alarms."""
    routes = APIRouter(include_in_schema=False)

    @routes.get("/")
    def vessels(request: Request) -> HTMLResponse:
        seen = house.vessels_now()
        standing = house.standing()
        return render.page(
            request,
            "home.html",
            vessels=seen,
            standing=standing,
            answer=answer(seen, standing),
            nobody_told=bool(seen) and not house.anyone_told(),
        )

    return routes
