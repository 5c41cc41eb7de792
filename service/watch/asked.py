"""What a stage asks of the brewer, as the subject of an alarm: each is asked once and never again."""

from collections.abc import Container
from dataclasses import replace

from service.alarms.model import AlarmState, CoreState, Finding, Subject
from service.plans.course import How
from service.watch.house import House

KEYS = frozenset({"stage-due", "stage-overdue"})
LAST_WORD = {"batch": "ended by itself"}


def name_of_due(batch_id: str, n: int, prompt: int | None) -> str:
    """Tells one thing asked from every other: the batch, its step, and which prompt of it."""
    return f"{batch_id}#{n}" + ("" if prompt is None else f".{prompt}")


def is_due(subject: Subject) -> bool:
    """Whether an alarm is about something a stage asks."""
    return subject.key in KEYS


def last_word(found: Finding) -> Finding:
    """What was asked at the moment at which its batch ended by itself: nobody has taken care of it."""
    return replace(found, names={**found.names, **LAST_WORD})


def was_by_hand(house: House, state: AlarmState, went_on: Container[str]) -> bool:
    """Whether what is asked no more was taken care of by a person, and not by time or temperature.

    went_on: the batches that go on by themselves at this moment.
    """
    batch_id, _, which = (state.subject.other or "").rpartition("#")
    live = next((b for b in house.batches if b.row.id == batch_id), None)
    if batch_id in went_on:
        return False
    if live is None:
        return not state.names.items() >= LAST_WORD.items()
    n = int(which.partition(".")[0])
    following = next((step for step in live.course.steps if step.n == n + 1), None)
    return following is None or following.how not in (How.TIME, How.REACHED)


def is_spent(state: AlarmState) -> bool:
    """Whether nothing need be remembered: it was asked, it is over, and it will not be asked again."""
    return is_due(state.subject) and state.core is CoreState.NORMAL and state.pending_since is None
