"""Estimates and what lies ahead, over HTTP."""

from fastapi import APIRouter

from service.actions import ahead as ahead_actions
from service.actions import insight as insight_actions
from service.actions.insight_answers import EstimateAnswer, ForecastAnswer
from service.actions.wire import Instant
from service.api.at_hand import AtHand

router = APIRouter(tags=["looking ahead"])


@router.get("/batches/{batch_id}/estimate")
def estimate(desk: AtHand, batch_id: str, at: Instant | None = None) -> EstimateAnswer:
    """How far the fermentation is, from its heat and from direct readings, as known at a time."""
    return insight_actions.estimate_of(desk, batch_id, at)


@router.get("/batches/{batch_id}/forecast")
def forecast(desk: AtHand, batch_id: str, hours: int = 48) -> ForecastAnswer:
    """The beer of the coming hours, with a 90 % interval and what would help."""
    return ahead_actions.forecast_of(desk, batch_id, hours)
