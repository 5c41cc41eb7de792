"""The last part of a batch over HTTP: bottles squeezed and opened, tastings, and what explains a fault."""

from typing import Any

from fastapi import APIRouter, Response

from service.actions import conditioning as conditioning_actions
from service.actions import tasting as tasting_actions
from service.actions.entries import every_entry, write_down
from service.actions.entry_asks import NewOpening, NewSqueeze, NewTasting
from service.actions.tasting_answers import ConditioningAnswer, FaultAcross, FaultAnswer
from service.actions.wire import Ask, Page
from service.api.at_hand import AtHand, made
from service.api.paging import Cursor, Limit, page_of
from service.brewing.tasting import Fault

router = APIRouter(tags=["batch records"])


@router.get("/faults")
def faults_across(desk: AtHand, fault: Fault | None = None) -> Page[FaultAcross]:
    """What the batches with a tasted fault have in common, against those tasted without it."""
    return Page(items=tasting_actions.faults_across(desk, fault))


@router.get("/batches/{batch_id}/faults")
def faults_of(desk: AtHand, batch_id: str) -> Page[FaultAnswer]:
    """The faults that were tasted in a batch, with the hours of its record that could explain them."""
    return Page(items=tasting_actions.faults_of(desk, batch_id))


@router.get("/batches/{batch_id}/conditioning")
def conditioning(desk: AtHand, batch_id: str) -> ConditioningAnswer:
    """What its bottles hold by now, and when one is worth opening."""
    return conditioning_actions.conditioning_of(desk, batch_id)


def _listed(desk: AtHand, batch_id: str, name: str, limit: int, cursor: str | None) -> dict[str, Any]:
    items, more = page_of(every_entry(desk, batch_id, name), limit, cursor, lambda one: str(one["n"]))
    return {"items": items, "next": more}


def _written(desk: AtHand, batch_id: str, name: str, ask: Ask, response: Response) -> dict[str, Any]:
    answer = write_down(desk, batch_id, name, ask)
    made(response, f"/api/v1/batches/{batch_id}/{name}/{answer['n']}")
    return answer


@router.get("/batches/{batch_id}/squeezes")
def list_squeezes(desk: AtHand, batch_id: str, limit: Limit = 100, cursor: Cursor = None) -> dict[str, Any]:
    """Squeezes of the witness bottle, newest first."""
    return _listed(desk, batch_id, "squeezes", limit, cursor)


@router.post("/batches/{batch_id}/squeezes", status_code=201)
def create_squeeze(desk: AtHand, batch_id: str, ask: NewSqueeze, response: Response) -> dict[str, Any]:
    """The witness bottle was squeezed: firm or not."""
    return _written(desk, batch_id, "squeezes", ask, response)


@router.get("/batches/{batch_id}/openings")
def list_openings(desk: AtHand, batch_id: str, limit: Limit = 100, cursor: Cursor = None) -> dict[str, Any]:
    """Opened bottles, newest first, each held against the beer that went in."""
    return _listed(desk, batch_id, "openings", limit, cursor)


@router.post("/batches/{batch_id}/openings", status_code=201)
def create_opening(desk: AtHand, batch_id: str, ask: NewOpening, response: Response) -> dict[str, Any]:
    """The gravity of an opened bottle."""
    return _written(desk, batch_id, "openings", ask, response)


@router.get("/batches/{batch_id}/tastings")
def list_tastings(desk: AtHand, batch_id: str, limit: Limit = 100, cursor: Cursor = None) -> dict[str, Any]:
    """Tastings, newest first."""
    return _listed(desk, batch_id, "tastings", limit, cursor)


@router.post("/batches/{batch_id}/tastings", status_code=201)
def create_tasting(desk: AtHand, batch_id: str, ask: NewTasting, response: Response) -> dict[str, Any]:
    """How it tastes."""
    return _written(desk, batch_id, "tastings", ask, response)
