"""How figures are written for people, over HTTP."""

from fastapi import APIRouter

from service.actions import notation as actions
from service.actions.notation import NotationAnswer, NotationChange
from service.api.at_hand import AtHand

router = APIRouter(tags=["settings"])


@router.get("/notation")
def read_notation(desk: AtHand) -> NotationAnswer:
    """In which units pages and messages are written."""
    return actions.the_notation(desk)


@router.patch("/notation")
def change_notation(desk: AtHand, ask: NotationChange) -> NotationAnswer:
    """Write them otherwise; the API itself always speaks of C and SG."""
    return actions.change_notation(desk, ask)
