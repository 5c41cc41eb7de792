"""Absences over HTTP."""

from fastapi import APIRouter, Response

from service.actions import absences as actions
from service.actions.absences import AbsenceAnswer, AbsenceChange, NewAbsence
from service.actions.wire import Page
from service.api.at_hand import AtHand, made
from service.api.paging import Cursor, Limit, page_of

router = APIRouter(tags=["absences"])


@router.get("/absences")
def list_absences(desk: AtHand, limit: Limit = 100, cursor: Cursor = None) -> Page[AbsenceAnswer]:
    """Every absence, the one that begins last first."""
    items, more = page_of(actions.every_absence(desk), limit, cursor, lambda a: a.id)
    return Page(items=items, next=more)


@router.post("/absences", status_code=201)
def create_absence(desk: AtHand, ask: NewAbsence, response: Response) -> AbsenceAnswer:
    """The brewer will be away; a helper reads the channel meanwhile."""
    answer = actions.make_absence(desk, ask)
    made(response, f"/api/v1/absences/{answer.id}")
    return answer


@router.get("/absences/{absence_id}")
def read_absence(desk: AtHand, absence_id: str) -> AbsenceAnswer:
    """One absence."""
    return actions.one_absence(desk, absence_id)


@router.patch("/absences/{absence_id}")
def change_absence(desk: AtHand, absence_id: str, ask: AbsenceChange) -> AbsenceAnswer:
    """Change an absence (JSON merge patch)."""
    return actions.alter_absence(desk, absence_id, ask)


@router.delete("/absences/{absence_id}", status_code=204)
def delete_absence(desk: AtHand, absence_id: str) -> None:
    """The brewer is there after all."""
    actions.take_absence_out(desk, absence_id)
