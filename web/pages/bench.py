"""A batch's record: readings, sightings, additions and notes by form; and the sugar for its bottles."""

from dataclasses import replace

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from service.brewing.call import Call
from service.errors import GylewatchError, InvalidInputError, NotFoundError
from web.asking import Group, Input, answered, compacted, inputs
from web.bench import LISTS
from web.counter import Counter
from web.form import Form
from web.pages.batches import BatchesHouse, show_batch
from web.rendering import Renderer
from web.typed import Typed, Values

CONTROLS = ("asked", "more")
KNOWN = ("volume_l", "warmest_c", "points_left")
FLUID = ("sample_c", "instrument_c", "zero_error_pt")


def router(house: BatchesHouse, render: Renderer, counter: Counter, priming: Call) -> APIRouter:
    """The forms of the record, and the page of the sugar; `priming` is that computation's declaration."""
    routes = APIRouter(include_in_schema=False)

    def adding(name: str) -> None:
        @routes.post(f"/batches/{{batch_id}}/{name}", name=f"write down {name}")
        def write(request: Request, batch_id: str, values: Values) -> Response:
            def act(who: str) -> str:
                typed = typed_entry(name, values).time("at", house.taste())
                house.write_down(batch_id, name, who, typed.done())
                return f"/batches/{batch_id}#{name}"

            def again(form: Form, status: int) -> HTMLResponse:
                return show_batch(house, render, request, batch_id, form, wrong=name, status=status)

            return counter.take(request, values, act, again)

        @routes.post(f"/batches/{{batch_id}}/{name}/{{n}}/remove", name=f"take out {name}")
        def remove(request: Request, batch_id: str, n: int, values: Values) -> Response:
            def act(who: str) -> str:
                house.strike_out(batch_id, name, n, who)
                return f"/batches/{batch_id}#{name}"

            return counter.take(request, values, act)

    for each in LISTS:
        adding(each)

    @routes.get("/batches/{batch_id}/priming")
    def prime(request: Request, batch_id: str) -> HTMLResponse:
        try:
            batch = house.batch(batch_id)
        except NotFoundError as error:
            return render.refusal(request, error)
        query, taste = dict(request.query_params), house.taste()
        values = compacted(priming, {n: v for n, v in query.items() if n not in CONTROLS})
        form, answer, status = Form("", values), None, 200
        if "asked" in query and not query.get("more"):
            try:
                answer = answered(priming, values, taste, lambda fields: house.prime(batch_id, fields))
            except InvalidInputError as error:
                form, status = Form("", values, error.problems), 422
            except GylewatchError as error:
                return render.refusal(request, error)
        asked = [known(one) for one in inputs(priming, values, taste, query.get("more", ""))]
        return render.page(
            request,
            "priming.html",
            status=status,
            batch=batch,
            form=form,
            answer=answer,
            inputs=[one for one in asked if one.name not in KNOWN],
            known=[one for one in asked if one.name in KNOWN],
        )

    return routes


def typed_entry(name: str, values: dict[str, str]) -> Typed:
    """The fields of an entry as they were typed; those of another kind are left for the service to name."""
    typed = Typed(values)
    if name == "readings":
        typed.required("by", "is not chosen", "Say how it was measured.")
        typed.number("sg", "plato", "brix", "kg")
        if values.get("by") in ("hydrometer", "limit-jar"):
            typed.number(*FLUID)
            typed.fields["degassed"] = values.get("degassed") != "no"
        elif values.get("by") == "refractometer":
            typed.number("wort_factor")
    elif name == "sightings":
        typed.required("what", "is not said", "Press what you saw.")
    elif name == "additions":
        typed.required("what", "is empty", "Say what was put in.")
        typed.required("mass_g", "is empty", "Give its weight in grams.").number("mass_g", "water_l")
        for share in ("extract_share", "fermentable_share"):
            typed.number(f"{share}_percent")
            if (percent := typed.fields.pop(f"{share}_percent", None)) is not None:
                typed.fields[share] = percent / 100
    else:
        typed.required("text", "is empty", "Write a few words.")
    return typed


def known(one: Input | Group) -> Input | Group:
    """An input as it is asked for a batch: what the batch knows itself need not be given."""
    if isinstance(one, Input) and one.name in KNOWN:
        words = "Left empty, it is what the batch's own record says."
        return replace(one, required=False, beginning="", help=f"{one.help} {words}".strip())
    return one
