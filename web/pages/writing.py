"""How figures are written: which degrees, which scale of gravity, which clock."""

from collections.abc import Mapping
from typing import Any, Protocol

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from web.counter import Counter
from web.form import Form
from web.house import PageHouse
from web.rendering import Renderer
from web.typed import Typed, Values

TEMPERATURES = (("C", "Celsius (C)"), ("F", "Fahrenheit (F)"))
GRAVITIES = (("SG", "SG, such as 1.048"), ("Plato", "degrees Plato, such as 11.9"))
CLOCKS = (("24", "24 hours, such as 18:05"), ("12", "12 hours, such as 6:05 pm"))


class WritingHouse(PageHouse, Protocol):
    """What the page of units needs."""

    def write_figures(self, by: str, fields: Mapping[str, Any]) -> None:
        """Chooses how figures are written. InvalidInputError."""
        ...


def router(house: WritingHouse, render: Renderer, counter: Counter) -> APIRouter:
    """The page and its form."""
    routes = APIRouter(include_in_schema=False)

    def page(request: Request, form: Form, status: int = 200) -> HTMLResponse:
        return render.page(
            request,
            "writing.html",
            status=status,
            form=form,
            temperatures=TEMPERATURES,
            gravities=GRAVITIES,
            clocks=CLOCKS,
        )

    @routes.get("/settings/units")
    def units(request: Request) -> HTMLResponse:
        return page(request, Form(house.once()))

    @routes.post("/settings/units")
    def choose(request: Request, values: Values) -> Response:
        def act(who: str) -> str:
            fields = Typed(values).text("temperatures", "gravity").number("clock").done()
            if "clock" in fields:
                fields["clock"] = int(fields["clock"])
            house.write_figures(who, fields)
            return "/settings/units"

        return counter.take(request, values, act, lambda form, status: page(request, form, status))

    return routes
