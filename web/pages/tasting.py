"""The last part of a batch: the witness bottle, an opened one, how it tastes, and what explains a fault."""

from collections.abc import Mapping
from typing import Any, Protocol

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from service.errors import GylewatchError
from web.counter import Counter
from web.form import Form
from web.house import PageHouse
from web.rendering import Renderer
from web.tasting import FAULTS, LISTS, TastingView
from web.typed import Typed, Values
from web.words import Taste


class TastingHouse(PageHouse, Protocol):
    """What the page needs."""

    def tasting(self, batch_id: str) -> TastingView:
        """What was squeezed, opened and tasted of a batch. NotFoundError."""
        ...

    def write_tasting(self, batch_id: str, name: str, by: str, fields: Mapping[str, Any]) -> None:
        """Keeps an entry of one of the lists. InvalidInputError, NotFoundError."""
        ...

    def strike_tasting(self, batch_id: str, name: str, n: int, by: str) -> None:
        """Takes an entry out. NotFoundError."""
        ...


def fields_of(name: str, values: Mapping[str, str], taste: Taste) -> Typed:
    """What a form of one of the lists brought, out of the brewer's units."""
    typed = Typed(values)
    if name == "squeezes":
        typed.required("firm", "is not said", "Say whether the bottle is firm or soft.")
        if "firm" in typed.fields:
            typed.fields["firm"] = typed.fields["firm"] == "yes"
    elif name == "openings":
        typed.required("sg", "is not given", "Give the gravity that was read.").number("sg", "sample_c")
        for field, plain in (("sg", taste.sg), ("sample_c", taste.celsius)):
            if isinstance(typed.fields.get(field), float):
                typed.fields[field] = plain(typed.fields[field])
    else:
        typed.text("words")
        typed.fields["faults"] = [fault for fault, _ in FAULTS if values.get(f"fault-{fault}")]
    return typed


def router(house: TastingHouse, render: Renderer, counter: Counter) -> APIRouter:
    """The page and its forms."""
    routes = APIRouter(include_in_schema=False)

    def page(
        request: Request, batch_id: str, form: Form | None = None, wrong: str = "", status: int = 200
    ) -> HTMLResponse:
        once = house.once()
        forms = {name: Form(f"{once}.{name}") for name in LISTS}
        if form is not None:
            forms[wrong] = form
        try:
            found = house.tasting(batch_id)
        except GylewatchError as error:
            return render.refusal(request, error)
        return render.page(
            request, "tasting.html", status=status, tasting=found, forms=forms, once=once, faults=FAULTS
        )

    @routes.get("/batches/{batch_id}/tasting")
    def tasting(request: Request, batch_id: str) -> HTMLResponse:
        return page(request, batch_id)

    def writing(name: str) -> None:
        @routes.post(f"/batches/{{batch_id}}/tasting/{name}", name=f"write down {name}")
        def write(request: Request, batch_id: str, values: Values) -> Response:
            def act(who: str) -> str:
                fields = fields_of(name, values, house.taste()).time("at", house.taste()).done()
                house.write_tasting(batch_id, name, who, fields)
                return f"/batches/{batch_id}/tasting#{name}"

            def again(form: Form, status: int) -> HTMLResponse:
                return page(request, batch_id, form, name, status)

            return counter.take(request, values, act, again)

        @routes.post(f"/batches/{{batch_id}}/tasting/{name}/{{n}}/remove", name=f"take out {name}")
        def remove(request: Request, batch_id: str, n: int, values: Values) -> Response:
            def act(who: str) -> str:
                house.strike_tasting(batch_id, name, n, who)
                return f"/batches/{batch_id}/tasting#{name}"

            return counter.take(request, values, act)

    for each in LISTS:
        writing(each)
    return routes
