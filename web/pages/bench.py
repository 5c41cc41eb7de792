"""A batch's record by form, list by list, to add, put right and take out; and the sugar for its bottles."""

from dataclasses import replace

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from service.brewing.call import Call
from service.errors import GylewatchError, InvalidInputError, NotFoundError
from web.asking import Group, Input, answered, compacted, inputs
from web.bench import KINDS, LISTS, PACKAGES, SIGHTS, SUGARS
from web.counter import Counter
from web.entering import closed_up, entry_fields, entry_values, row_count
from web.form import Form
from web.pages.batches import BatchesHouse, show_batch
from web.rendering import Renderer
from web.typed import Values

CONTROLS = ("asked", "more")
KNOWN = ("volume_l", "warmest_c", "points_left")


def router(house: BatchesHouse, render: Renderer, counter: Counter, priming: Call) -> APIRouter:
    """The forms of the record, and the page of the sugar; `priming` is that computation's declaration."""
    routes = APIRouter(include_in_schema=False)

    def adding(name: str) -> None:
        @routes.post(f"/batches/{{batch_id}}/{name}", name=f"write down {name}")
        def write(request: Request, batch_id: str, values: Values) -> Response:
            typed = closed_up(values) if name == "packagings" else values

            def act(who: str) -> str:
                house.write_down(batch_id, name, who, entry_fields(name, typed, house.taste()))
                return f"/batches/{batch_id}#{name}"

            def again(form: Form, status: int) -> HTMLResponse:
                return show_batch(house, render, request, batch_id, form, wrong=name, status=status)

            if typed.get("more"):
                return again(Form(typed.get("once", ""), typed), 200)
            return counter.take(request, typed, act, again)

        @routes.post(f"/batches/{{batch_id}}/{name}/{{n}}/remove", name=f"take out {name}")
        def remove(request: Request, batch_id: str, n: int, values: Values) -> Response:
            def act(who: str) -> str:
                house.strike_out(batch_id, name, n, who)
                return f"/batches/{batch_id}#{name}"

            return counter.take(request, values, act)

        def entry_page(
            request: Request, batch_id: str, n: int, form: Form, status: int = 200
        ) -> HTMLResponse:
            try:
                batch = house.batch(batch_id)
            except GylewatchError as error:
                return render.refusal(request, error)
            return render.page(
                request,
                "entry.html",
                status=status,
                batch=batch,
                name=name,
                n=n,
                form=form,
                kinds=KINDS,
                sights=SIGHTS,
                packages=PACKAGES,
                sugars=SUGARS,
                rows=row_count(form.values),
            )

        @routes.get(f"/batches/{{batch_id}}/{name}/{{n}}", name=f"look at {name}")
        def look(request: Request, batch_id: str, n: int) -> HTMLResponse:
            try:
                found = house.entry(batch_id, name, n)
            except GylewatchError as error:
                return render.refusal(request, error)
            values = entry_values(name, found, house.taste())
            return entry_page(request, batch_id, n, Form(house.once(), values))

        @routes.post(f"/batches/{{batch_id}}/{name}/{{n}}", name=f"put right {name}")
        def change(request: Request, batch_id: str, n: int, values: Values) -> Response:
            typed = closed_up(values) if name == "packagings" else values

            def act(who: str) -> str:
                house.put_right(batch_id, name, n, who, entry_fields(name, typed, house.taste()))
                return f"/batches/{batch_id}#{name}"

            def again(form: Form, status: int) -> HTMLResponse:
                return entry_page(request, batch_id, n, form, status)

            if typed.get("more"):
                return again(Form(typed.get("once", ""), typed), 200)
            return counter.take(request, typed, act, again)

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


def known(one: Input | Group) -> Input | Group:
    """An input as it is asked for a batch: what the batch knows itself need not be given."""
    if isinstance(one, Input) and one.name in KNOWN:
        words = "Left empty, it is what the batch's own record says."
        return replace(one, required=False, beginning="", help=f"{one.help} {words}".strip())
    return one
