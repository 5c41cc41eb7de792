"""The sign of life over HTTP."""

from fastapi import APIRouter

from service.actions import heartbeat as actions
from service.actions.heartbeat import HeartbeatAnswer, HeartbeatSetting
from service.api.at_hand import AtHand

router = APIRouter(tags=["alarms and channels"])


@router.get("/heartbeat")
def read_heartbeat(desk: AtHand) -> HeartbeatAnswer:
    """Where the sign of life goes; 404 when there is none."""
    return actions.the_heartbeat(desk)


@router.put("/heartbeat")
def set_heartbeat(desk: AtHand, ask: HeartbeatSetting) -> HeartbeatAnswer:
    """Call this address every so often while the watch goes round."""
    return actions.set_heartbeat(desk, ask)


@router.delete("/heartbeat", status_code=204)
def end_heartbeat(desk: AtHand) -> None:
    """No more signs of life."""
    actions.end_heartbeat(desk)
