"""What a stage asks of the brewer, as the subject of an alarm: each is asked once and never again."""

from service.alarms.model import AlarmState, CoreState, Subject

KEYS = frozenset({"stage-due", "stage-overdue"})


def name_of_due(batch_id: str, n: int, prompt: int | None) -> str:
    """Tells one thing asked from every other: the batch, its step, and which prompt of it."""
    return f"{batch_id}#{n}" + ("" if prompt is None else f".{prompt}")


def is_due(subject: Subject) -> bool:
    """Whether an alarm is about something a stage asks."""
    return subject.key in KEYS


def batch_of_due(subject: Subject) -> str:
    """The batch whose stage asks."""
    return (subject.other or "").rpartition("#")[0]


def is_spent(state: AlarmState) -> bool:
    """Whether nothing need be remembered: it was asked, it is over, and it will not be asked again."""
    return is_due(state.subject) and state.core is CoreState.NORMAL and state.pending_since is None
