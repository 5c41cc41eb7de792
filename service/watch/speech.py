"""What is to be said on which channel, and its way into the outbox.

`due_speech` is pure and decides; `put_into_outbox` runs inside the transaction that commits the
transitions which caused it.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from service.alarms.departure import FLOOD_WINDOW_S, channel_leaves_at, leave_at
from service.alarms.model import AlarmState, Priority, Subject
from service.alarms.speaking import Reason, message_due
from service.alarms.wording import compose
from service.alarms.words import Units
from service.record.facts import ChannelRow
from service.record.outbox import add_message, departures, gathering, rewrite_message
from service.watch.quiet import quiet_hours_from
from service.watch.shapes import alarm_shape

ORDER = (
    Reason.FIRST,
    Reason.RAISED_IN_PRIORITY,
    Reason.END_OF_QUIET_HOURS,
    Reason.REMINDER,
    Reason.RETURNED,
)


@dataclass(frozen=True, slots=True)
class Speech:
    """One thing to say: these subjects of one vessel, for one reason, on one channel."""

    channel_id: str
    vessel_id: str | None
    reason: Reason
    subjects: tuple[Subject, ...]


@dataclass(frozen=True, slots=True)
class Voice:
    """How it is said: the brewer's zone and units, names, and where links lead."""

    zone: ZoneInfo
    units: Units
    names: Mapping[str, str]
    link_base: str


def due_speech(
    channels: Iterable[ChannelRow], states: Iterable[AlarmState], zone: ZoneInfo, now: datetime
) -> list[Speech]:
    """Everything that should be said now, channel by channel."""
    worth = [state for state in states if state.standing or state.first_spoken_at is not None]
    said: dict[tuple[str, str | None, Reason], list[Subject]] = {}
    for channel in channels:
        quiet = None if channel.quiet_hours is None else quiet_hours_from(channel.quiet_hours, zone)
        least = Priority(channel.least_priority).rank
        for state in worth:
            if state.priority.rank < least:
                continue
            reason = message_due(state, quiet, now)
            if reason is not None:
                said.setdefault((channel.id, state.subject.vessel_id, reason), []).append(state.subject)
    return [
        Speech(channel_id, vessel_id, reason, tuple(subjects))
        for (channel_id, vessel_id, reason), subjects in said.items()
    ]


def reasons_spoken(speeches: Iterable[Speech]) -> dict[Subject, Reason]:
    """The reason for which each subject speaks; when channels differ, the weightiest."""
    found: dict[Subject, Reason] = {}
    for speech in sorted(speeches, key=lambda s: ORDER.index(s.reason)):
        for subject in speech.subjects:
            found.setdefault(subject, speech.reason)
    return found


def put_into_outbox(
    connection: Connection,
    speeches: Sequence[Speech],
    states: Mapping[Subject, AlarmState],
    voice: Voice,
    now: datetime,
) -> None:
    """Write what is due as messages; what waits to leave for the same vessel takes it along."""
    together: dict[tuple[str, str | None], list[Speech]] = {}
    for speech in speeches:
        together.setdefault((speech.channel_id, speech.vessel_id), []).append(speech)
    for (channel_id, vessel_id), parts in together.items():
        parts.sort(key=lambda s: ORDER.index(s.reason))
        _one_message(connection, channel_id, vessel_id, parts, states, voice, now)


def _one_message(
    connection: Connection,
    channel_id: str,
    vessel_id: str | None,
    parts: Sequence[Speech],
    states: Mapping[Subject, AlarmState],
    voice: Voice,
    now: datetime,
) -> None:
    mine = [states[subject] for part in parts for subject in part.subjects]
    name = voice.names.get(vessel_id, vessel_id) if vessel_id is not None else ""
    texts = [
        compose(
            part.reason,
            name,
            [states[subject] for subject in part.subjects],
            voice.zone,
            voice.link_base,
            voice.units,
            now=now,
        )
        for part in parts
    ]
    title, text = texts[0].title, "\n\n".join(one.body for one in texts)
    reason = parts[0].reason
    priority = max((state.priority for state in mine), key=lambda p: p.rank)
    shapes = [alarm_shape(state, state.alarm_id) for state in mine]
    left = departures(connection, channel_id, now - timedelta(seconds=FLOOD_WINDOW_S))
    waiting = gathering(connection, channel_id, vessel_id, now)
    opened_at = now
    if waiting is not None:
        opened_at = waiting["at"]
        title, text, shapes, priority, reason = _along(waiting, title, text, shapes, priority, reason)
        left = [one for one in left if one != (vessel_id, waiting["next_at"])]
    before = [at for vessel, at in left if vessel == vessel_id]
    leaves = max(
        leave_at(priority, max(before, default=None), opened_at, now),
        channel_leaves_at(priority, [at for _, at in left], now),
    )
    values: dict[str, Any] = {
        "reason": reason.value,
        "title": title,
        "text": text,
        "alarms": shapes,
    }
    if waiting is not None and rewrite_message(
        connection, waiting["id"], {**values, "priority": priority.value, "next_at": leaves}
    ):
        return
    add_message(
        connection, channel_id, priority.value, vessel_id, {**values, "vessel": name, "at": now}, leaves
    )


def _along(
    waiting: Mapping[str, Any],
    title: str,
    text: str,
    shapes: list[dict[str, Any]],
    priority: Priority,
    reason: Reason,
) -> tuple[str, str, list[dict[str, Any]], Priority, Reason]:
    """What waits and what is new as one message: the more urgent gives the title."""
    was = Priority(waiting["priority"])
    newest = {shape["id"]: shape for shape in shapes}
    joined = [newest.pop(shape["id"], shape) for shape in waiting["alarms"]] + list(newest.values())
    if priority.rank <= was.rank:
        title, reason = waiting["title"], Reason(waiting["reason"])
    return title, f"{waiting['text']}\n\n{text}", joined, max((was, priority), key=lambda p: p.rank), reason
