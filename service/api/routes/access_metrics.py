"""Figures about the watch itself, for those with the scope `read`."""

from fastapi import APIRouter
from starlette.responses import PlainTextResponse

from service.actions.metrics import CONTENT_TYPE, as_text, metrics
from service.api.at_hand import AtHand

router = APIRouter(tags=["health"])


@router.get("/metrics", response_class=PlainTextResponse)
def figures(desk: AtHand) -> PlainTextResponse:
    """How the watch is doing, as Prometheus text."""
    return PlainTextResponse(as_text(metrics(desk)), media_type=CONTENT_TYPE)
