"""Estimates and what lies ahead, over HTTP."""

from fastapi import APIRouter

from service.actions import ahead as ahead_actions
from service.actions import chill_times as chill_actions
from service.actions import insight as insight_actions
from service.actions import leaving as leaving_actions
from service.actions import rehearsal as rehearsal_actions
from service.actions import summary as summary_actions
from service.actions.chill_times import ChillAnswer
from service.actions.insight_answers import (
    EstimateAnswer,
    ForecastAnswer,
    RehearsalAnswer,
    SummaryAnswer,
    UnattendedAnswer,
)
from service.actions.rehearsal_asks import Rehearse
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


@router.get("/batches/{batch_id}/cooling")
def chill(
    desk: AtHand, batch_id: str, bath_l: float | None = None, fresh_c: float | None = None
) -> ChillAnswer:
    """When the wort is cold enough for the coming stages, from its own running curve."""
    return chill_actions.chill_times(desk, batch_id, bath_l, fresh_c)


@router.get("/batches/{batch_id}/unattended")
def unattended(desk: AtHand, batch_id: str) -> UnattendedAnswer:
    """Until when the batch may be left: the earliest time at which absence could cost the beer."""
    return leaving_actions.unattended(desk, batch_id)


@router.get("/batches/{batch_id}/summary")
def summary(desk: AtHand, batch_id: str) -> SummaryAnswer:
    """A batch looked back upon."""
    return summary_actions.summary(desk, batch_id)


@router.post("/plans/rehearse")
def rehearse(desk: AtHand, ask: Rehearse) -> RehearsalAnswer:
    """A plan in a vessel in a room: where it would stray, and what would help."""
    return rehearsal_actions.rehearse_plan(desk, ask)
