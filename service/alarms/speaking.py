"""Whether a message is due, and why; when it may leave. Pure.

The state that is asked carries what was said on one channel: `said` puts it in and takes it out.
"""

from dataclasses import replace
from datetime import datetime, timedelta
from enum import StrEnum

from service.alarms.catalogue import CATALOGUE
from service.alarms.departure import channel_leaves_at, has_room, leave_at
from service.alarms.model import AlarmState, CoreState, Priority
from service.alarms.quiet import QuietHours

__all__ = [
    "QuietHours",
    "Reason",
    "channel_leaves_at",
    "has_room",
    "hold_off_s",
    "leave_at",
    "message_due",
    "next_reminder",
    "spoken",
]


class Reason(StrEnum):
    """Why a message leaves."""

    FIRST = "first"
    RAISED_IN_PRIORITY = "raised-in-priority"
    REMINDER = "reminder"
    RETURNED = "returned"
    END_OF_QUIET_HOURS = "end-of-quiet-hours"


_MINUTE, _HOUR = 60.0, 3600.0
REMINDERS_S: dict[Priority, tuple[float, ...]] = {
    Priority.HIGH: (15 * _MINUTE, 30 * _MINUTE, _HOUR, 2 * _HOUR, 4 * _HOUR, 8 * _HOUR),
    Priority.MEDIUM: (_HOUR, 2 * _HOUR, 4 * _HOUR, 8 * _HOUR, 16 * _HOUR),
    Priority.LOW: (12 * _HOUR, 24 * _HOUR),
}
"""Seconds from each message to the next reminder; after the last there are no more."""

HOLD_OFF_S = (0.0, 10 * _MINUTE, 30 * _MINUTE, _HOUR, 2 * _HOUR, 4 * _HOUR)
"""Least time since its last message before an alarm speaks again, by how often it has come back."""
MOST_HOLD_OFF_HIGH_S = 30 * _MINUTE


def message_due(state: AlarmState, quiet: QuietHours | None, now: datetime) -> Reason | None:
    """Why a message should leave now on a channel with these quiet hours, or None.

    Shelved and out of service are silent; suppression is not, for it never hides what stands.
    """
    if state.out_of_service or state.is_shelved(now):
        return None
    if quiet is not None and state.priority is not Priority.HIGH and quiet.covers(now):
        return None
    if state.cause_stands:
        return _standing(state, quiet, now)
    return _returned(state, now)


def spoken(state: AlarmState, reason: Reason, now: datetime) -> AlarmState:
    """The state once a message has been committed for that reason."""
    if reason is Reason.RETURNED:
        return replace(state, last_spoken_at=now, return_spoken_at=now, next_reminder_at=None)
    reminders = state.reminders + 1 if reason is Reason.REMINDER else 0
    return replace(
        state,
        first_spoken_at=state.first_spoken_at or now,
        last_spoken_at=now,
        spoken_priority=_greater(state.spoken_priority, state.priority),
        reminders=reminders,
        next_reminder_at=next_reminder(state.core, state.priority, reminders, now),
    )


def next_reminder(core: CoreState, priority: Priority, reminders: int, now: datetime) -> datetime | None:
    """When to remind next after a message at `now` and so many reminders; None when no more."""
    waits = REMINDERS_S[priority]
    if core is not CoreState.UNACKNOWLEDGED or reminders >= len(waits):
        return None
    return now + timedelta(seconds=waits[reminders])


def hold_off_s(flaps: int, priority: Priority) -> float:
    """How long an alarm that has come back so often stays silent after a message, in seconds."""
    held = HOLD_OFF_S[min(flaps, len(HOLD_OFF_S) - 1)]
    return min(held, MOST_HOLD_OFF_HIGH_S) if priority is Priority.HIGH else held


def _standing(state: AlarmState, quiet: QuietHours | None, now: datetime) -> Reason | None:
    unacknowledged = state.core is CoreState.UNACKNOWLEDGED
    if state.first_spoken_at is None:
        if not unacknowledged or _held(state, now):
            return None
        waited = _was_quiet(quiet, _first_due(state)) and not _was_quiet(quiet, now)
        return Reason.END_OF_QUIET_HOURS if waited else Reason.FIRST
    if state.spoken_priority is not None and state.priority.rank > state.spoken_priority.rank:
        return Reason.RAISED_IN_PRIORITY
    if not unacknowledged:
        return None
    if state.next_reminder_at is not None and now >= state.next_reminder_at:
        return Reason.REMINDER
    return None


def _returned(state: AlarmState, now: datetime) -> Reason | None:
    told = state.first_spoken_at is not None and state.return_spoken_at is None
    if not told or state.return_known or not CATALOGUE[state.subject.key].tells_return:
        return None
    return None if _held(state, now) else Reason.RETURNED


def _held(state: AlarmState, now: datetime) -> bool:
    """Whether an alarm that comes and goes must stay silent for a while yet."""
    return state.last_spoken_at is not None and state.last_spoken_at <= now < _held_until(state)


def _held_until(state: AlarmState) -> datetime:
    assert state.last_spoken_at is not None
    return state.last_spoken_at + timedelta(seconds=hold_off_s(state.flaps, state.priority))


def _first_due(state: AlarmState) -> datetime | None:
    if state.last_spoken_at is None or state.episode_at is None:
        return state.episode_at
    return max(state.episode_at, _held_until(state))


def _was_quiet(quiet: QuietHours | None, at: datetime | None) -> bool:
    return quiet is not None and at is not None and quiet.covers(at)


def _greater(one: Priority | None, other: Priority) -> Priority:
    return other if one is None or other.rank > one.rank else one
