"""Plans and batches over HTTP."""

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Body, Query, Response

from service.actions import batches as batch_actions
from service.actions import plans as plan_actions
from service.actions import series as series_actions
from service.actions.answers import BatchAnswer, PlaceAnswer, PlanAnswer, SeriesAnswer, StageAnswer
from service.actions.asks import Advance, BatchChange, NewBatch, NewPlace, PlaceChange, StageChange
from service.actions.wire import Instant, Page
from service.api.at_hand import AtHand, SeenVersion, made, tag
from service.api.paging import Cursor, ItemNumber, Limit, page_of
from service.api.routes import questions
from service.plans.reading import plan_schema

router = APIRouter(tags=["plans and batches"])
router.include_router(questions.router)

PlanBody = Annotated[Any, Body(openapi_examples={})]


@router.get("/plans")
def list_plans(desk: AtHand, limit: Limit = 100, cursor: Cursor = None) -> Page[PlanAnswer]:
    """Every stored plan."""
    every = [answer for answer, _ in plan_actions.every_plan(desk)]
    items, more = page_of(every, limit, cursor, lambda p: p.id)
    return Page(items=items, next=more)


@router.get("/plans/schema.json")
def schema_of_plans() -> dict[str, Any]:
    """The JSON Schema of a plan."""
    return plan_schema()


@router.post("/plans", status_code=201)
def create_plan(desk: AtHand, body: PlanBody, response: Response) -> PlanAnswer:
    """Store a plan."""
    answer, version = plan_actions.make_plan(desk, body)
    tag(response, version)
    made(response, f"/api/v1/plans/{answer.id}")
    return answer


@router.get("/plans/{plan_id}")
def read_plan(desk: AtHand, plan_id: str, response: Response) -> PlanAnswer:
    """One stored plan."""
    answer, version = plan_actions.one_plan(desk, plan_id)
    tag(response, version)
    return answer


@router.put("/plans/{plan_id}")
def put_plan(desk: AtHand, plan_id: str, body: PlanBody, seen: SeenVersion, response: Response) -> PlanAnswer:
    """Replace a plan; batches made from it keep their copies."""
    answer, version = plan_actions.replace_plan(desk, plan_id, body, seen)
    tag(response, version)
    return answer


@router.delete("/plans/{plan_id}", status_code=204)
def delete_plan(desk: AtHand, plan_id: str, seen: SeenVersion) -> None:
    """Delete a plan."""
    plan_actions.delete_plan(desk, plan_id, seen)


@router.get("/batches")
def list_batches(
    desk: AtHand,
    limit: Limit = 100,
    cursor: Cursor = None,
    state: Literal["running", "conditioning", "ended"] | None = None,
) -> Page[BatchAnswer]:
    """Every batch."""
    every = [answer for answer, _ in batch_actions.every_batch(desk, state)]
    items, more = page_of(every, limit, cursor, lambda b: b.id)
    return Page(items=items, next=more)


@router.post("/batches", status_code=201)
def create_batch(desk: AtHand, ask: NewBatch, response: Response) -> BatchAnswer:
    """Start a batch."""
    answer, version = batch_actions.start_batch(desk, ask)
    tag(response, version)
    made(response, f"/api/v1/batches/{answer.id}")
    return answer


@router.get("/batches/{batch_id}")
def read_batch(desk: AtHand, batch_id: str, response: Response) -> BatchAnswer:
    """One batch."""
    answer, version = batch_actions.one_batch(desk, batch_id)
    tag(response, version)
    return answer


@router.patch("/batches/{batch_id}")
def change_batch(
    desk: AtHand, batch_id: str, ask: BatchChange, seen: SeenVersion, response: Response
) -> BatchAnswer:
    """Change what is known of a batch (JSON merge patch)."""
    answer, version = batch_actions.alter_batch(desk, batch_id, ask, seen)
    tag(response, version)
    return answer


@router.post("/batches/{batch_id}/advance")
def advance_batch(
    desk: AtHand, batch_id: str, ask: Advance, seen: SeenVersion, response: Response
) -> BatchAnswer:
    """Into another stage, or to the end."""
    answer, version = batch_actions.advance_batch(desk, batch_id, ask, seen)
    tag(response, version)
    return answer


@router.get("/batches/{batch_id}/stages")
def list_stages(desk: AtHand, batch_id: str) -> Page[StageAnswer]:
    """The stages of a batch as it passed them."""
    return Page(items=batch_actions.stages_of(desk, batch_id))


@router.patch("/batches/{batch_id}/stages/{n}")
def change_stage(
    desk: AtHand, batch_id: str, n: ItemNumber, ask: StageChange, response: Response
) -> BatchAnswer:
    """A new time, or a new length, for a stage."""
    answer, version = batch_actions.amend_stage(desk, batch_id, n, ask)
    tag(response, version)
    return answer


@router.post("/batches/{batch_id}/undo")
def undo(desk: AtHand, batch_id: str, response: Response) -> BatchAnswer:
    """Take the last change back."""
    answer, version = batch_actions.undo(desk, batch_id)
    tag(response, version)
    return answer


@router.get("/batches/{batch_id}/places")
def list_places(desk: AtHand, batch_id: str) -> Page[PlaceAnswer]:
    """Where the batch was when."""
    return Page(items=batch_actions.places_of(desk, batch_id))


@router.post("/batches/{batch_id}/places", status_code=201)
def move_batch(desk: AtHand, batch_id: str, ask: NewPlace, response: Response) -> BatchAnswer:
    """Move it into another vessel."""
    answer, version = batch_actions.move_batch(desk, batch_id, ask)
    tag(response, version)
    made(response, f"/api/v1/batches/{batch_id}/places")
    return answer


@router.patch("/batches/{batch_id}/places/{n}")
def leave_place(
    desk: AtHand, batch_id: str, n: ItemNumber, ask: PlaceChange, response: Response
) -> BatchAnswer:
    """One of several vessels is empty."""
    answer, version = batch_actions.leave_place(desk, batch_id, n, ask)
    tag(response, version)
    return answer


@router.get("/batches/{batch_id}/series")
def series(
    desk: AtHand,
    batch_id: str,
    from_: Annotated[Instant | None, Query(alias="from")] = None,
    to: Instant | None = None,
    points: int = 1000,
) -> SeriesAnswer:
    """The curve of a batch."""
    return series_actions.series(desk, batch_id, from_, to, points)
