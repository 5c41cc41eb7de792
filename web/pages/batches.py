"""The batches: all of them, a new one, and one with its chart and its stages."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Protocol

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from markupsafe import Markup

from service.brewing.ranges import Range
from service.brewing.swaps import Measure
from service.errors import GylewatchError
from web.bench import KINDS, LISTS, PACKAGES, SIGHTS, SUGARS, BenchHouse
from web.chart import Curves, Story, curves_json, inline, story_json
from web.counter import Counter
from web.entering import row_count
from web.form import Form
from web.pages.curves import CurvesHouse
from web.pages.probes import Choice
from web.questions import QuestionView
from web.rendering import Renderer
from web.typed import Typed, Values
from web.views import BandView, HourRow, ProgressView
from web.words import Taste

OG = Range("original gravity", 1.005, 1.2, "SG", Measure.SG)
EXPECTED_FG = Range("expected gravity", 0.98, 1.2, "SG", Measure.SG)


@dataclass(frozen=True, slots=True)
class BatchLine:
    """A batch in the list. state: running, conditioning or ended."""

    id: str
    name: str
    state: str
    started_at: datetime
    vessel_name: str | None = None
    stage: str | None = None
    ended_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class StageRow:
    """A stage of a batch. state: past, now, planned or skipped. note: what ends or waits in it, in words."""

    key: str
    kind: str
    state: str
    band: BandView
    starts_at: datetime | None = None
    ends_at: datetime | None = None
    note: str = ""


@dataclass(frozen=True, slots=True)
class ScoreView:
    """How far what was said of an ended batch could have been trusted.

    off: usual distance from what then was measured, lean: how far too high on average, both in `unit` (C or
    points). holds: share of the 90 % intervals that held. same: how far off "as it is now" would have been.
    """

    what: str
    n: int
    off: float
    lean: float
    holds: float
    same: float | None
    unit: str
    sentence: str


@dataclass(frozen=True, slots=True)
class BatchView:
    """One batch. next_key: the stage that can be entered by hand, or ``end``. undo: what can be taken back.

    days: its whole time in equal parts, oldest first, with part_words naming their length (``6 hours``).
    curves: what its chart shows first, None where that cannot be drawn.
    on_the_stove: it is in the kettle, before any yeast is in it. questions: what seems to have begun unsaid.
    """

    id: str
    name: str
    state: str
    started_at: datetime
    stages: tuple[StageRow, ...]
    vessel_id: str | None = None
    vessel_name: str | None = None
    pitched_at: datetime | None = None
    ended_at: datetime | None = None
    volume_l: float | None = None
    og: float | None = None
    expected_fg: float | None = None
    next_key: str | None = None
    undo: str | None = None
    days: tuple[HourRow, ...] = ()
    part_words: str = "hour"
    sentence: str = ""
    progress: ProgressView | None = None
    evidence: tuple[str, ...] = ()
    on_the_stove: bool = False
    questions: tuple[QuestionView, ...] = ()
    scores: tuple[ScoreView, ...] = ()
    curves: Curves | None = None


class BatchesHouse(BenchHouse, CurvesHouse, Protocol):
    """What the pages of batches need."""

    def batches(self) -> Sequence[BatchLine]:
        """Every batch, running ones first, then newest first."""
        ...

    def batch(self, batch_id: str) -> BatchView:
        """One batch. NotFoundError."""
        ...

    def vessel_choices(self) -> Sequence[Choice]:
        """The vessels a batch can be put into."""
        ...

    def plan_choices(self) -> Sequence[Choice]:
        """The plans a batch can follow."""
        ...

    def start_batch(self, by: str, fields: Mapping[str, Any]) -> str:
        """Starts a batch and gives its id. InvalidInputError, ConflictError."""
        ...

    def advance(self, batch_id: str, by: str, fields: Mapping[str, Any]) -> None:
        """Enters a stage: ``to``, and ``at`` when it was earlier. InvalidInputError, ConflictError."""
        ...

    def undo(self, batch_id: str, by: str) -> None:
        """Takes the last change back. NotFoundError, ConflictError."""
        ...


def show_batch(
    house: BatchesHouse,
    render: Renderer,
    request: Request,
    batch_id: str,
    form: Form | None = None,
    *,
    wrong: str = "",
    status: int = 200,
) -> HTMLResponse:
    """The page of one batch; `form` is what came back from the form called `wrong`."""
    once = house.once()
    forms = {name: Form(f"{once}.{name}") for name in ("stages", *LISTS)}
    if form is not None:
        forms[wrong] = form
    try:
        batch, bench = house.batch(batch_id), house.bench(batch_id)
        story = house.story(batch_id, bench)
    except GylewatchError as error:
        return render.refusal(request, error)
    return render.page(
        request,
        "batch.html",
        status=status,
        batch=batch,
        bench=bench,
        story=story,
        first=_first(batch.curves, story, house.taste()),
        form=forms["stages"],
        forms=forms,
        once=once,
        wrong_list=wrong if wrong in LISTS else "",
        kinds=KINDS,
        sights=SIGHTS,
        packages=PACKAGES,
        sugars=SUGARS,
        package_rows=row_count(forms["packagings"].values),
    )


def _first(curves: Curves | None, story: Story, taste: Taste) -> Markup | None:
    """What the chart shows first, so that no phone has to ask for it."""
    return None if curves is None else inline(curves_json(curves, taste), story_json(story, taste))


def router(house: BatchesHouse, render: Renderer, counter: Counter) -> APIRouter:
    """The pages and their forms."""
    routes = APIRouter(include_in_schema=False)

    def new_page(request: Request, form: Form, status: int = 200) -> HTMLResponse:
        return render.page(
            request,
            "batch_new.html",
            status=status,
            form=form,
            vessels=house.vessel_choices(),
            plans=house.plan_choices(),
        )

    def page(request: Request, batch_id: str, form: Form, status: int = 200) -> HTMLResponse:
        return show_batch(house, render, request, batch_id, form, wrong="stages", status=status)

    @routes.get("/batches")
    def batches(request: Request) -> HTMLResponse:
        return render.page(request, "batches.html", batches=house.batches())

    @routes.get("/batches/new")
    def new(request: Request) -> HTMLResponse:
        return new_page(request, Form(house.once()))

    @routes.post("/batches")
    def start(request: Request, values: Values) -> Response:
        def act(who: str) -> str:
            typed = Typed(values).required("name", "is empty", "Give the batch a name.")
            typed.required("vessel_id", "is not chosen", "Choose the vessel it is in.")
            typed.required("plan_id", "is not chosen", "Choose the plan it follows.")
            taste = house.taste()
            typed.measured("og", OG, taste).measured("expected_fg", EXPECTED_FG, taste)
            typed.number("volume_l").time("started_at", taste)
            return f"/batches/{house.start_batch(who, typed.done())}"

        return counter.take(request, values, act, lambda form, status: new_page(request, form, status))

    @routes.get("/batches/{batch_id}")
    def batch(request: Request, batch_id: str) -> HTMLResponse:
        return show_batch(house, render, request, batch_id)

    @routes.post("/batches/{batch_id}/advance")
    def advance(request: Request, batch_id: str, values: Values) -> Response:
        def act(who: str) -> str:
            typed = Typed(values).required("to", "is not said", "Load the page again.")
            house.advance(batch_id, who, typed.time("at", house.taste()).done())
            return f"/batches/{batch_id}"

        return counter.take(request, values, act, lambda form, status: page(request, batch_id, form, status))

    @routes.post("/batches/{batch_id}/undo")
    def undo(request: Request, batch_id: str, values: Values) -> Response:
        def act(who: str) -> str:
            house.undo(batch_id, who)
            return f"/batches/{batch_id}"

        return counter.take(request, values, act, lambda form, status: page(request, batch_id, form, status))

    return routes
