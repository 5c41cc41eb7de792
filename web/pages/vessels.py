"""A new vessel."""

from collections.abc import Mapping
from typing import Any, Protocol

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from web.counter import Counter
from web.form import Form
from web.house import PageHouse
from web.rendering import Renderer
from web.typed import Typed, Values

KINDS = (
    ("fermenter", "fermenter"),
    ("kettle", "kettle"),
    ("bath", "bath"),
    ("crate", "crate of bottles"),
    ("keg", "keg"),
    ("room", "room"),
)
NEAR = (
    ("thermostat-fridge", "it stands in a fridge with a thermostat"),
    ("water-bath", "it stands in water"),
    ("wet-cloth", "a wet cloth is around it"),
    ("insulation", "it is lagged"),
    ("heater", "a heater is near it"),
    ("fan", "a fan blows at it"),
)


class VesselsHouse(PageHouse, Protocol):
    """What the page for a new vessel needs."""

    def add_vessel(self, by: str, fields: Mapping[str, Any]) -> str:
        """Makes a vessel and gives its id. InvalidInputError, ConflictError."""
        ...


def router(house: VesselsHouse, render: Renderer, counter: Counter) -> APIRouter:
    """The form."""
    routes = APIRouter(include_in_schema=False)

    def page(request: Request, form: Form, status: int = 200) -> HTMLResponse:
        return render.page(request, "vessel_new.html", status=status, form=form, kinds=KINDS, near=NEAR)

    @routes.get("/vessels/new")
    def new(request: Request) -> HTMLResponse:
        return page(request, Form(house.once()))

    @routes.post("/vessels")
    def add(request: Request, values: Values) -> Response:
        def act(who: str) -> str:
            typed = Typed(values).required("name", "is empty", "Give the vessel a name.")
            fields = typed.text("kind").number("volume_l").done()
            near = [word for word, _ in NEAR if f"near-{word}" in values]
            house.add_vessel(who, {**fields, "near": near})
            return "/first-steps"

        return counter.take(request, values, act, lambda form, status: page(request, form, status))

    return routes
