"""Forgotten buttons over HTTP: what the trace asks, and yes or no to it."""

from fastapi import APIRouter, Response

from service.actions import questions as question_actions
from service.actions.answers import BatchAnswer
from service.actions.questions import QuestionAnswer
from service.actions.wire import Page
from service.api.at_hand import AtHand, tag
from service.plans.noticing import What

router = APIRouter(prefix="/batches/{batch_id}/questions", tags=["plans and batches"])


@router.get("")
def questions(desk: AtHand, batch_id: str) -> Page[QuestionAnswer]:
    """What seems to have begun though nobody said so."""
    return Page(items=question_actions.questions_of(desk, batch_id))


@router.post("/{what}/yes")
def yes(desk: AtHand, batch_id: str, what: What, response: Response) -> BatchAnswer:
    """It began then: into that stage, at that time."""
    answer, version = question_actions.say_yes(desk, batch_id, what)
    tag(response, version)
    return answer


@router.post("/{what}/no", status_code=204)
def no(desk: AtHand, batch_id: str, what: What) -> None:
    """It did not."""
    question_actions.say_no(desk, batch_id, what)
