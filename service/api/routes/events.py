"""Live events, and whether the program is alive and ready."""

from typing import Annotated, Any

from fastapi import APIRouter, Header
from starlette.concurrency import run_in_threadpool
from starlette.responses import JSONResponse, Response, StreamingResponse

from service.actions.gate import is_still_in
from service.api.at_hand import AtHand, Caller

router = APIRouter(tags=["events"])
roots = APIRouter(tags=["health"])


@router.get("/events", response_class=StreamingResponse)
async def events(
    desk: AtHand, who: Caller, last_event_id: Annotated[str | None, Header()] = None
) -> StreamingResponse:
    """Server-sent events: `sample`, `alarm`, `stage`, `estimate`; `reload` when too much was missed."""

    async def welcome() -> bool:
        return await run_in_threadpool(is_still_in, desk, who)

    return StreamingResponse(
        desk.watch.broker.listen(last_event_id, welcome),
        media_type="text/event-stream",
        headers={"Cache-Control": "no-store", "X-Accel-Buffering": "no"},
    )


@roots.get("/healthz")
def alive() -> dict[str, str]:
    """The process answers."""
    return {"status": "alive"}


@roots.get("/readyz")
def ready(desk: AtHand) -> Response:
    """200 when the watch goes round and the record can be written; 503 with what is missing."""
    body: dict[str, Any] = desk.watch.health()
    return JSONResponse(body, 200 if body["ready"] else 503)
