"""Silence by design over HTTP: work at a vessel, and what is out of service."""

from fastapi import APIRouter, Response

from service.actions import silencing as actions
from service.actions.silencing import NewOutOfService, OutOfServiceAnswer, StartWorking, WorkingAnswer
from service.actions.wire import Page
from service.api.at_hand import AtHand, made
from service.api.paging import Cursor, Limit, page_of

router = APIRouter(tags=["alarms and channels"])


@router.post("/vessels/{vessel_id}/working")
def start_working(desk: AtHand, vessel_id: str, ask: StartWorking) -> WorkingAnswer:
    """Somebody works at the vessel: what hands do raises no alarm for a while."""
    return actions.start_working(desk, vessel_id, ask)


@router.get("/vessels/{vessel_id}/working")
def who_works(desk: AtHand, vessel_id: str) -> WorkingAnswer:
    """Who works at the vessel now; 404 when nobody does."""
    return actions.who_works(desk, vessel_id)


@router.delete("/vessels/{vessel_id}/working", status_code=204)
def stop_working(desk: AtHand, vessel_id: str) -> None:
    """Done before its time."""
    actions.stop_working(desk, vessel_id)


@router.get("/out-of-service")
def list_out_of_service(desk: AtHand, limit: Limit = 100, cursor: Cursor = None) -> Page[OutOfServiceAnswer]:
    """Everything that raises no alarm until it is put back."""
    items, more = page_of(actions.everything_out_of_service(desk), limit, cursor, lambda one: one.id)
    return Page(items=items, next=more)


@router.post("/out-of-service", status_code=201)
def take_out(desk: AtHand, ask: NewOutOfService, response: Response) -> OutOfServiceAnswer:
    """Take a kind of alarm out of service at one place, with a reason."""
    answer = actions.take_out(desk, ask)
    made(response, f"/api/v1/out-of-service/{answer.id}")
    return answer


@router.delete("/out-of-service/{which}", status_code=204)
def put_back(desk: AtHand, which: str) -> None:
    """Put it back into service."""
    actions.put_back(desk, which)
