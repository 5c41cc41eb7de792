"""What people write down about a batch, and the bottling bench, over HTTP."""

from collections.abc import Callable
from typing import Annotated, Any

from fastapi import APIRouter, Body, Response

from service.actions import bench
from service.actions import entries as entry_actions
from service.actions.entry_asks import NewAddition, NewNote, NewPackaging, NewReading, NewSighting
from service.actions.wire import Ask, Instant
from service.api.at_hand import AtHand, made
from service.api.paging import Cursor, ItemNumber, Limit, page_of
from service.record.entries import LISTS

router = APIRouter(prefix="/batches/{batch_id}", tags=["batch records"])

Patch = Annotated[dict[str, Any], Body()]


@router.get("/readiness")
def readiness(desk: AtHand, batch_id: str, at: Instant | None = None) -> dict[str, Any]:
    """May it be packaged: the checks with their evidence, and what to do next."""
    return bench.readiness_of(desk, batch_id, at)


@router.post("/priming")
def priming(desk: AtHand, batch_id: str, asked: Patch) -> dict[str, Any]:
    """How much sugar, with the batch's own volume and warmest temperature filled in."""
    return bench.prime_batch(desk, batch_id, asked)


def _listed(desk: AtHand, batch_id: str, name: str, limit: int, cursor: str | None) -> dict[str, Any]:
    every = entry_actions.every_entry(desk, batch_id, name)
    items, more = page_of(every, limit, cursor, lambda one: str(one["n"]))
    return {"items": items, "next": more}


def _written(desk: AtHand, batch_id: str, name: str, ask: Ask, response: Response) -> dict[str, Any]:
    answer = entry_actions.write_down(desk, batch_id, name, ask)
    made(response, f"/api/v1/batches/{batch_id}/{name}/{answer['n']}")
    return answer


@router.get("/readings")
def list_readings(desk: AtHand, batch_id: str, limit: Limit = 100, cursor: Cursor = None) -> dict[str, Any]:
    """Readings, newest first, with what they stand for."""
    return _listed(desk, batch_id, "readings", limit, cursor)


@router.post("/readings", status_code=201)
def create_reading(desk: AtHand, batch_id: str, ask: NewReading, response: Response) -> dict[str, Any]:
    """A direct measure of gravity."""
    return _written(desk, batch_id, "readings", ask, response)


@router.get("/notes")
def list_notes(desk: AtHand, batch_id: str, limit: Limit = 100, cursor: Cursor = None) -> dict[str, Any]:
    """Notes, newest first."""
    return _listed(desk, batch_id, "notes", limit, cursor)


@router.post("/notes", status_code=201)
def create_note(desk: AtHand, batch_id: str, ask: NewNote, response: Response) -> dict[str, Any]:
    """A few words."""
    return _written(desk, batch_id, "notes", ask, response)


@router.get("/sightings")
def list_sightings(desk: AtHand, batch_id: str, limit: Limit = 100, cursor: Cursor = None) -> dict[str, Any]:
    """Sightings, newest first."""
    return _listed(desk, batch_id, "sightings", limit, cursor)


@router.post("/sightings", status_code=201)
def create_sighting(desk: AtHand, batch_id: str, ask: NewSighting, response: Response) -> dict[str, Any]:
    """Something seen or smelled."""
    return _written(desk, batch_id, "sightings", ask, response)


@router.get("/additions")
def list_additions(desk: AtHand, batch_id: str, limit: Limit = 100, cursor: Cursor = None) -> dict[str, Any]:
    """Additions, newest first."""
    return _listed(desk, batch_id, "additions", limit, cursor)


@router.post("/additions", status_code=201)
def create_addition(desk: AtHand, batch_id: str, ask: NewAddition, response: Response) -> dict[str, Any]:
    """Something put into the beer."""
    return _written(desk, batch_id, "additions", ask, response)


@router.get("/packagings")
def list_packagings(desk: AtHand, batch_id: str, limit: Limit = 100, cursor: Cursor = None) -> dict[str, Any]:
    """Packagings, newest first."""
    return _listed(desk, batch_id, "packagings", limit, cursor)


@router.post("/packagings", status_code=201)
def create_packaging(desk: AtHand, batch_id: str, ask: NewPackaging, response: Response) -> dict[str, Any]:
    """What the beer went into."""
    return _written(desk, batch_id, "packagings", ask, response)


def _changing(name: str) -> Callable[..., dict[str, Any]]:
    def change(desk: AtHand, batch_id: str, n: ItemNumber, patch: Patch) -> dict[str, Any]:
        """Put an entry right (JSON merge patch)."""
        return entry_actions.put_right(desk, batch_id, name, n, patch)

    return change


def _removing(name: str) -> Callable[..., None]:
    def remove(desk: AtHand, batch_id: str, n: ItemNumber) -> None:
        """Take an entry out."""
        entry_actions.strike_out(desk, batch_id, name, n)

    return remove


for _name in LISTS:
    router.add_api_route(f"/{_name}/{{n}}", _changing(_name), methods=["PATCH"], name=f"change {_name}")
    router.add_api_route(
        f"/{_name}/{{n}}", _removing(_name), methods=["DELETE"], status_code=204, name=f"remove {_name}"
    )
