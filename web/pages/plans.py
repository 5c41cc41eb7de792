"""The plans: all of them, a new one, and one to be changed with the problem beside the field."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Protocol

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from service.brewing import ranges
from service.brewing.ranges import Range
from service.brewing.swaps import Measure
from service.errors import ConflictError, GylewatchError, InvalidInputError, StaleError
from web.counter import Counter
from web.form import Form
from web.house import PageHouse
from web.pages.probes import Choice
from web.planning import BANDS, ENDS, KINDS, LEAST_ROWS, compacted, in_form, plan_of, rows_of, values_of
from web.rehearsing import RehearsalView, fields_of, request_of
from web.rehearsing import in_form as rehearsal_problems
from web.rendering import Renderer
from web.typed import Typed, Values
from web.words import Taste

EXAMPLE: tuple[Mapping[str, Any], ...] = (
    {"key": "primary", "kind": "primary", "target_c": 19, "lasts_s": 777600, "ends": "steady-gravity"},
    {"key": "cold", "kind": "crash", "target_c": 3, "lasts_s": 172800, "ends": "brewer"},
)
"""What a new plan's form begins with; a common course, to be changed."""
OG = Range("original gravity", 1.005, 1.2, "SG", Measure.SG)
LIVE = "x-while-typing"
"""The header with which a script asks while somebody types: a plan half typed is no failure of it."""

CHANGED_SINCE = "Somebody else changed this plan since you opened it. Open it again to see what they did."


@dataclass(frozen=True, slots=True)
class PlanView:
    """A plan as it travels. version: changes with every change, to tell when two people change it."""

    id: str
    name: str
    stages: tuple[Mapping[str, Any], ...]
    version: str


class PlansHouse(PageHouse, Protocol):
    """What the pages of plans need."""

    def vessel_choices(self) -> Sequence[Choice]:
        """The vessels in which a plan can be rehearsed."""
        ...

    def rehearse(self, fields: Mapping[str, Any]) -> RehearsalView:
        """A plan run in a place, asked for in the shape of the HTTP contract. InvalidInputError."""
        ...

    def plans_stored(self) -> Sequence[PlanView]:
        """Every plan."""
        ...

    def plan(self, plan_id: str) -> PlanView:
        """One plan. NotFoundError."""
        ...

    def add_plan(self, by: str, plan: Mapping[str, Any]) -> str:
        """Stores a plan and gives its id. InvalidInputError."""
        ...

    def change_plan(self, plan_id: str, by: str, plan: Mapping[str, Any], version: str) -> None:
        """Replaces a plan. InvalidInputError, NotFoundError, StaleError when it was changed since."""
        ...


def router(house: PlansHouse, render: Renderer, counter: Counter) -> APIRouter:
    """The pages and their forms."""
    routes = APIRouter(include_in_schema=False)

    def page(
        request: Request,
        form: Form,
        plan_id: str = "",
        version: str = "",
        status: int = 200,
        rehearsal: RehearsalView | None = None,
    ) -> HTMLResponse:
        rows = max(LEAST_ROWS, len(rows_of(form.values)) + 2)
        return render.page(
            request,
            "plan.html",
            status=status,
            form=form,
            plan_id=plan_id,
            version=version,
            rows=rows,
            kinds=KINDS,
            ends=ENDS,
            bands=BANDS,
            vessels=house.vessel_choices(),
            rehearsal=rehearsal,
        )

    @routes.get("/plans")
    def plans(request: Request) -> HTMLResponse:
        return render.page(request, "plans.html", plans=house.plans_stored())

    @routes.get("/plans/new")
    def new(request: Request) -> HTMLResponse:
        return page(request, Form(house.once(), values_of("", EXAMPLE, house.taste())))

    @routes.post("/plans")
    def add(request: Request, values: Values) -> Response:
        typed = compacted(values)

        def act(who: str) -> str:
            try:
                house.add_plan(who, plan_of(typed, taste=house.taste()))
            except InvalidInputError as error:
                raise in_form(error.problems, house.taste()) from None
            return "/plans"

        return counter.take(request, typed, act, lambda form, status: page(request, form, status=status))

    @routes.get("/plans/{plan_id}")
    def plan(request: Request, plan_id: str) -> HTMLResponse:
        try:
            stored = house.plan(plan_id)
        except GylewatchError as error:
            return render.refusal(request, error)
        form = Form("", values_of(stored.name, stored.stages, house.taste()))
        return page(request, form, stored.id, stored.version)

    @routes.post("/plans/{plan_id}")
    def change(request: Request, plan_id: str, values: Values) -> Response:
        typed = compacted(values)
        version = values.get("version", "")

        def act(who: str) -> str:
            try:
                stages = house.plan(plan_id).stages
                house.change_plan(plan_id, who, plan_of(typed, stages, house.taste()), version)
            except InvalidInputError as error:
                raise in_form(error.problems, house.taste()) from None
            except StaleError:
                raise ConflictError(CHANGED_SINCE) from None
            return "/plans"

        return counter.take(
            request, typed, act, lambda form, status: page(request, form, plan_id, version, status)
        )

    @routes.post("/rehearsal")
    def rehearsal(request: Request, values: Values) -> HTMLResponse:
        """Nothing is kept, so nobody is asked for a key: the plan as it is typed, run in a place."""
        typed, taste = compacted(values), house.taste()
        plan_id, version, once = (values.get(name, "") for name in ("plan_id", "version", "once"))
        try:
            stages = house.plan(plan_id).stages if plan_id else ()
            asked = _fields(typed, taste)
            seen = house.rehearse(request_of(plan_of(typed, stages, taste), asked))
        except InvalidInputError as error:
            problems = in_form(rehearsal_problems(error.problems).problems, taste).problems
            form = Form(once, typed, problems)
            return page(request, form, plan_id, version, 200 if LIVE in request.headers else 422)
        except GylewatchError as error:
            return render.refusal(request, error)
        return page(request, Form(once, typed), plan_id, version, rehearsal=seen)

    return routes


def _fields(typed: Mapping[str, str], taste: Taste) -> dict[str, Any]:
    """What is asked beside the plan; InvalidInputError for what cannot be read."""
    fields = Typed(fields_of(typed)).text("vessel_id").number("volume_l")
    fields.measured("og", OG, taste)
    for name in ("pitch_c", "surroundings_c"):
        fields.measured(name, ranges.BEER_C, taste)
    for name in ("wanted_at", "away_from", "away_to"):
        fields.time(name, taste)
    return fields.done()
