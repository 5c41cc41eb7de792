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

from service.alarms.departure import FLOOD_WINDOW_S, channel_leaves_at, has_room, leave_at
from service.alarms.model import AlarmState, Priority, Subject
from service.alarms.said import Said, said_of, with_said
from service.alarms.speaking import Reason, message_due, spoken
from service.alarms.wording import LinkFor, Text, compose, compose_for_helper, compose_together
from service.alarms.words import Units
from service.record.outbox import add_message, departures, gathering, merge_message, rewrite_message
from service.watch.links import link_to
from service.watch.listening import Ears, failing_channels
from service.watch.quiet import quiet_hours_from
from service.watch.shapes import alarm_shape

ORDER = (
    Reason.FIRST,
    Reason.RAISED_IN_PRIORITY,
    Reason.END_OF_QUIET_HOURS,
    Reason.REMINDER,
    Reason.RETURNED,
)

REASONS = frozenset(reason.value for reason in Reason)
"""Other messages (a digest) are never joined with what is said of an alarm."""

Memory = Mapping[tuple[str, Subject], Said]
States = Mapping[Subject, AlarmState]


@dataclass(frozen=True, slots=True)
class Speech:
    """One thing to say on one channel: about a subject, for a reason, and what is remembered of it then.

    for_helper: in words for somebody who knows nothing of brewing.
    """

    channel_id: str
    subject: Subject
    reason: Reason
    remembered: Said
    for_helper: bool = False


@dataclass(frozen=True, slots=True)
class Voice:
    """How it is said: the brewer's zone and units, names, where links lead and what signs them.

    link_base: None when no link could be opened from elsewhere.
    """

    zone: ZoneInfo
    units: Units
    names: Mapping[str, str]
    link_base: str | None
    link_key: bytes

    def name(self, vessel_id: str | None) -> str:
        """A vessel's name; empty for the watch itself."""
        return "" if vessel_id is None else self.names.get(vessel_id, vessel_id)

    def links(self, channel_id: str, now: datetime) -> LinkFor:
        """Makes the link that acknowledges an alarm, for messages on one channel."""

        def link(state: AlarmState) -> str | None:
            if state.alarm_id is None or self.link_base is None:
                return None
            return link_to(self.link_base, state.alarm_id, channel_id, self.link_key, now)

        return link


@dataclass(frozen=True, slots=True)
class Draft:
    """A message as it will be written; its urgency decides when it leaves."""

    vessel_id: str | None
    reason: Reason
    priority: Priority
    title: str
    text: str
    alarms: Sequence[Mapping[str, Any]]
    opened_at: datetime

    def values(self) -> dict[str, Any]:
        """As the outbox stores it."""
        return {
            "reason": self.reason.value,
            "title": self.title,
            "text": self.text,
            "alarms": [dict(alarm) for alarm in self.alarms],
        }


def due_speech(
    ears: Ears, states: Iterable[AlarmState], said: Memory, zone: ZoneInfo, now: datetime
) -> list[Speech]:
    """Everything that should be said now, channel by channel."""
    every = list(states)
    failing = failing_channels(every)
    speeches = []
    for channel in ears.channels:
        quiet = None if channel.quiet_hours is None else quiet_hours_from(channel.quiet_hours, zone)
        helper = ears.is_helpers(channel.id)
        for state in every:
            before = said.get((channel.id, state.subject))
            if (before is None and not state.standing) or not ears.hears(channel, state, failing):
                continue
            heard = with_said(state, before)
            reason = message_due(heard, quiet, now)
            if reason is not None:
                remembered = said_of(spoken(heard, reason, now))
                speeches.append(Speech(channel.id, state.subject, reason, remembered, helper))
    return speeches


def put_into_outbox(
    connection: Connection, speeches: Sequence[Speech], states: States, voice: Voice, now: datetime
) -> None:
    """Write what is due as messages: one for each vessel, or one for all when a flood would come of it."""
    by_channel: dict[str, list[Speech]] = {}
    for speech in sorted(speeches, key=lambda s: ORDER.index(s.reason)):
        by_channel.setdefault(speech.channel_id, []).append(speech)
    for channel_id, mine in by_channel.items():
        left = departures(connection, channel_id, now - timedelta(seconds=FLOOD_WINDOW_S), now)
        waiting = [row for row in gathering(connection, channel_id, now) if row["reason"] in REASONS]
        vessels = {s.subject.vessel_id for s in mine}
        concerned = vessels | {row["vessel_id"] for row in waiting}
        urgency = _most(states[s.subject].priority for s in mine)
        if has_room(urgency, [at for _, at in left], now, len(concerned)):
            for vessel_id in vessels:
                part = [s for s in mine if s.subject.vessel_id == vessel_id]
                draft = _about_one(vessel_id, part, states, voice, now)
                same = [row for row in waiting if row["vessel_id"] == vessel_id]
                _send(connection, channel_id, draft, same, left, voice, now)
        else:
            _send(connection, channel_id, _about_all(mine, states, voice, now), waiting, left, voice, now)


def _about_one(
    vessel_id: str | None, speeches: Sequence[Speech], states: States, voice: Voice, now: datetime
) -> Draft:
    by_reason: dict[Reason, list[AlarmState]] = {}
    for speech in speeches:
        by_reason.setdefault(speech.reason, []).append(states[speech.subject])
    link = voice.links(speeches[0].channel_id, now)
    name = voice.name(vessel_id)
    texts: list[Text] = []
    for reason, group in by_reason.items():
        if speeches[0].for_helper and reason is not Reason.RETURNED:
            group.sort(key=lambda state: -state.priority.rank)
            texts += [compose_for_helper(name, [s], voice.zone, link(s), now=now) for s in group]
        else:
            texts.append(compose(reason, name, group, voice.zone, None, voice.units, now=now, link_for=link))
    return _draft(vessel_id, speeches, states, texts[0].title, "\n\n".join(t.body for t in texts), now)


def _about_all(speeches: Sequence[Speech], states: States, voice: Voice, now: datetime) -> Draft:
    groups: dict[tuple[Reason, str], list[AlarmState]] = {}
    for speech in speeches:
        key = (speech.reason, voice.name(speech.subject.vessel_id))
        groups.setdefault(key, []).append(states[speech.subject])
    text = compose_together(
        [(reason, name, group) for (reason, name), group in groups.items()],
        voice.zone,
        voice.link_base,
        now=now,
    )
    return _draft(None, speeches, states, text.title, text.body, now)


def _draft(
    vessel_id: str | None, speeches: Sequence[Speech], states: States, title: str, text: str, now: datetime
) -> Draft:
    mine = [states[speech.subject] for speech in speeches]
    shapes = [alarm_shape(state, state.alarm_id) for state in mine]
    return Draft(vessel_id, speeches[0].reason, _most(s.priority for s in mine), title, text, shapes, now)


def _most(priorities: Iterable[Priority]) -> Priority:
    return max(priorities, key=lambda p: p.rank)


def _send(
    connection: Connection,
    channel_id: str,
    draft: Draft,
    waiting: Sequence[Mapping[str, Any]],
    left: Sequence[tuple[str | None, datetime]],
    voice: Voice,
    now: datetime,
) -> None:
    """Put a draft into the outbox; what waits there already goes with it as one message."""
    for row in waiting:
        draft = _along(row, draft)
    before = [at for vessel_id, at in left if vessel_id == draft.vessel_id]
    leaves = max(
        leave_at(draft.priority, max(before, default=None), draft.opened_at, now),
        channel_leaves_at(draft.priority, [at for _, at in left], now),
    )
    number = None
    if waiting:
        changes = {
            **draft.values(),
            "vessel_id": draft.vessel_id,
            "vessel": voice.name(draft.vessel_id),
            "priority": draft.priority.value,
            "next_at": leaves,
        }
        if rewrite_message(connection, waiting[0]["id"], changes):
            number = waiting[0]["id"]
    if number is None:
        values = {**draft.values(), "vessel": voice.name(draft.vessel_id), "at": now}
        number = add_message(connection, channel_id, draft.priority.value, draft.vessel_id, values, leaves)
    for row in waiting:
        if row["id"] != number:
            merge_message(connection, row["id"], number, now)


def _along(waiting: Mapping[str, Any], draft: Draft) -> Draft:
    """What waits and what is new as one message: the more urgent gives the title."""
    was = Priority(waiting["priority"])
    newest = {alarm["id"]: alarm for alarm in draft.alarms}
    joined = [newest.pop(alarm["id"], alarm) for alarm in waiting["alarms"]] + list(newest.values())
    older_leads = draft.priority.rank <= was.rank and waiting["vessel_id"] == draft.vessel_id
    return Draft(
        vessel_id=draft.vessel_id,
        reason=Reason(waiting["reason"]) if older_leads else draft.reason,
        priority=_most((was, draft.priority)),
        title=waiting["title"] if older_leads else draft.title,
        text=f"{waiting['text']}\n\n{draft.text}",
        alarms=joined,
        opened_at=min(waiting["at"], draft.opened_at),
    )
