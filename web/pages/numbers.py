"""The computations: each asks, answers, and shows its working. Asking changes nothing: a plain GET."""

from collections.abc import Sequence

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from service.brewing.call import Call
from service.errors import InvalidInputError, NotFoundError
from web.asking import answered, compacted, inputs
from web.form import Form
from web.house import PageHouse
from web.rendering import Renderer
from web.showing import shown

CONTROLS = ("asked", "more")


def router(house: PageHouse, render: Renderer, calls: Sequence[Call]) -> APIRouter:
    """The list of computations and a page for each."""
    routes = APIRouter(include_in_schema=False)
    by_name = {call.name: call for call in calls}

    @routes.get("/numbers")
    def numbers(request: Request) -> HTMLResponse:
        return render.page(request, "numbers.html", calls=calls)

    @routes.get("/numbers/{name}")
    def number(request: Request, name: str) -> HTMLResponse:
        call = by_name.get(name)
        if call is None:
            return render.refusal(request, NotFoundError(f"There is no computation called {name!r}."))
        query, taste = dict(request.query_params), house.taste()
        values = compacted(call, {n: v for n, v in query.items() if n not in CONTROLS})
        form, result, status = Form("", values), None, 200
        if "asked" in query and not query.get("more"):
            try:
                result = shown(answered(call, values, taste, call.ask), taste, house.now())
            except InvalidInputError as error:
                form, status = Form("", values, error.problems), 422
        return render.page(
            request,
            "number.html",
            status=status,
            call=call,
            form=form,
            result=result,
            inputs=inputs(call, values, taste, query.get("more", "")),
        )

    return routes
