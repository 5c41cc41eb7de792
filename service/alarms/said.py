"""What was said about an alarm on one channel, kept beside the alarm's own memory.

Each channel has its quiet hours and so its own memory. To ask it: `message_due(with_said(state, said),
quiet, now)`; after a message: keep `said_of(spoken(that_state, reason, now))`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from datetime import UTC, datetime, timedelta
from typing import Any

from service.alarms.model import AlarmState, Priority
from service.errors import InvalidInputError, Problem

_TIMES = ("first_spoken_at", "return_spoken_at", "last_spoken_at", "next_reminder_at")


@dataclass(frozen=True, slots=True)
class Said:
    """One channel's memory of one alarm; the members have the meaning they have in `AlarmState`."""

    episode: int
    instance: int
    shifted_s: float
    first_spoken_at: datetime | None = None
    return_spoken_at: datetime | None = None
    last_spoken_at: datetime | None = None
    spoken_priority: Priority | None = None
    reminders: int = 0
    next_reminder_at: datetime | None = None


def said_of(state: AlarmState) -> Said:
    """The part of a state that is one channel's."""
    return Said(**{f.name: getattr(state, f.name) for f in fields(Said)})


def with_said(state: AlarmState, said: Said | None) -> AlarmState:
    """The state as this channel knows it; None: it was never told anything.

    A new alarm is news again, and so is one that came back after the channel was told that it had
    passed; only the time of the last message is kept then, for what flaps to be held back. Times are
    carried along when the clock was set since.
    """
    if said is None:
        said = Said(state.episode, state.instance, state.shifted_s)
    news = said.instance != state.instance or (
        said.return_spoken_at is not None and said.episode != state.episode
    )
    if news:
        said = Said(said.episode, said.instance, said.shifted_s, last_spoken_at=said.last_spoken_at)
    by = timedelta(seconds=state.shifted_s - said.shifted_s)
    return replace(
        state,
        first_spoken_at=_moved(said.first_spoken_at, by),
        return_spoken_at=_moved(said.return_spoken_at, by),
        last_spoken_at=_moved(said.last_spoken_at, by),
        next_reminder_at=_moved(said.next_reminder_at, by),
        spoken_priority=said.spoken_priority,
        reminders=said.reminders,
    )


def said_to_json(said: Said) -> dict[str, Any]:
    """The memory as values that `json.dumps` takes."""
    return {
        f.name: value.isoformat() if isinstance(value := getattr(said, f.name), datetime) else value
        for f in fields(Said)
    }


def said_from_json(stored: Mapping[str, Any]) -> Said:
    """The memory that `said_to_json` gave; InvalidInputError when it is none."""
    known = {f.name: stored[f.name] for f in fields(Said) if f.name in stored}
    try:
        for name in _TIMES:
            if known.get(name) is not None:
                known[name] = _time(known[name])
        if known.get("spoken_priority") is not None:
            known["spoken_priority"] = Priority(known["spoken_priority"])
        return Said(**known)
    except (ValueError, TypeError) as error:
        raise InvalidInputError(Problem("", f"is no memory of what was said: {error}")) from error


def _moved(at: datetime | None, by: timedelta) -> datetime | None:
    return None if at is None else at + by


def _time(value: str) -> datetime:
    at = datetime.fromisoformat(value)
    if at.tzinfo is None:
        raise ValueError("the time has no offset")
    return at.astimezone(UTC)
