"""What one look at the evidence does to an alarm: `step`. Pure; time comes in.

The transitions are those of `table`; what people and the design do to an alarm is in `handling`.
"""

from dataclasses import replace
from datetime import datetime, timedelta

from service.alarms.catalogue import CATALOGUE, AlarmType
from service.alarms.handling import (
    MOST_SHELVE_S,
    acknowledge,
    return_to_service,
    shelve,
    suppress,
    take_out_of_service,
    unshelve,
    unsuppress,
)
from service.alarms.model import AlarmState, CoreState, Finding, Presence, Transition
from service.alarms.said import said_of, with_said
from service.alarms.table import TABLE, Event, after, table_as_markdown
from service.alarms.timers import after_set_back, carried, clock_moved

__all__ = [
    "FLAP_WITHIN_S",
    "MOST_SHELVE_S",
    "TABLE",
    "Event",
    "acknowledge",
    "clock_moved",
    "return_to_service",
    "shelve",
    "step",
    "suppress",
    "table_as_markdown",
    "take_out_of_service",
    "unshelve",
    "unsuppress",
]

FLAP_WITHIN_S = 3600.0
"""An alarm that comes back within an hour of having returned is flapping: it speaks less and less often."""

Stepped = tuple[AlarmState, tuple[Transition, ...]]


def step(state: AlarmState, finding: Finding, now: datetime) -> Stepped:
    """The state after one finding, and what changed, in order.

    With an unknown presence only shelves and suppressions that have ended change anything, beside the time
    since when nothing is known. Raises ValueError for a naive time or a finding about something else;
    KeyError for a key not in the catalogue.
    """
    if now.tzinfo is None:
        raise ValueError("The time of a step needs an offset.")
    if finding.subject != state.subject:
        raise ValueError(f"A finding about {finding.subject} cannot judge {state.subject}.")
    entry = CATALOGUE[state.subject.key]
    state, ended = _ended_flags(after_set_back(state, now), now)
    if finding.presence is Presence.UNKNOWN:
        return _unseen(state, now), ended
    state = state if state.unknown_since is None else replace(state, unknown_since=None)
    if finding.presence is Presence.PRESENT:
        state, changed = _present(state, finding, entry, now)
    elif finding.presence is Presence.ABSENT:
        state, changed = _absent(state, finding, entry, now)
    else:
        state, changed = _without_delays(state, finding), ()
    return _judged(state, now), ended + changed


def _unseen(state: AlarmState, now: datetime) -> AlarmState:
    """What stands at a vessel, with the time since when nothing is known of it."""
    if not state.cause_stands or state.unknown_since is not None or state.subject.vessel_id is None:
        return state
    return replace(state, unknown_since=now)


def _present(state: AlarmState, finding: Finding, entry: AlarmType, now: datetime) -> Stepped:
    if state.cause_stands:
        return _still(state, finding, entry, now)
    if state.suppressed_by is not None or state.out_of_service:
        return _without_delays(state, finding), ()
    delay = entry.after_s if finding.after_s is None else finding.after_s
    if state.pending_since is None:
        state = replace(state, pending_since=now, since=now)
    assert state.pending_since is not None
    pending = carried(state.pending_since, state.judged_at, now, delay)
    state = replace(state, pending_since=pending)
    if now - pending < timedelta(seconds=delay):
        return state, ()
    return _raise(state, finding, entry, now)


def _raise(state: AlarmState, finding: Finding, entry: AlarmType, now: datetime) -> Stepped:
    again = state.core is CoreState.RETURNED_UNACKNOWLEDGED
    event = Event.RAISED_AGAIN if again else Event.RAISED
    flapping = state.returned_at is not None and abs(now - state.returned_at) < timedelta(
        seconds=FLAP_WITHIN_S
    )
    raised = replace(
        _told(state, finding, entry),
        core=after(state.core, event),
        priority=finding.priority or entry.priority,
        respond_by=now + timedelta(seconds=_respond_within(finding, entry)),
        episode_at=now,
        returned_at=None,
        returned_because=None,
        pending_since=None,
        flaps=state.flaps + 1 if flapping else 0,
        episode=state.episode + 1,
        return_known=False,
    )
    if not again:
        raised = replace(
            raised,
            alarm_id=None,
            instance=raised.episode,
            raised_at=now,
            acknowledged_at=None,
            acknowledged_by=None,
        )
    raised = with_said(raised, said_of(state))
    return raised, (_change(state, raised, event, finding, now),)


def _still(state: AlarmState, finding: Finding, entry: AlarmType, now: datetime) -> Stepped:
    priority = finding.priority or entry.priority
    still = replace(_told(state, finding, entry), clearing_since=None, priority=priority)
    if priority.rank == state.priority.rank:
        return still, ()
    if priority.rank < state.priority.rank:
        return still, (_change(state, still, Event.PRIORITY_LOWERED, finding, now),)
    by = now + timedelta(seconds=_respond_within(finding, entry))
    still = replace(still, respond_by=by if state.respond_by is None else min(by, state.respond_by))
    return still, (_change(state, still, Event.PRIORITY_RAISED, finding, now),)


def _absent(state: AlarmState, finding: Finding, entry: AlarmType, now: datetime) -> Stepped:
    if not state.cause_stands:
        return _without_delays(state, finding), ()
    delay = entry.clear_after_s if finding.clear_after_s is None else finding.clear_after_s
    clearing = carried(state.clearing_since or now, state.judged_at, now, delay)
    if now - clearing < timedelta(seconds=delay):
        return replace(state, clearing_since=clearing), ()
    gone = replace(
        state,
        core=after(state.core, Event.RETURNED),
        clearing_since=None,
        since=None,
        returned_at=now,
        returned_because=finding.reason,
    )
    if state.is_shelved(now) or state.out_of_service:
        # Whoever silenced it knows of it: that it passed in the meantime is no news hours later.
        gone = replace(gone, return_known=True)
    return gone, (_change(state, gone, Event.RETURNED, finding, now),)


def _told(state: AlarmState, finding: Finding, entry: AlarmType) -> AlarmState:
    """The state with the words and numbers of the newest finding."""
    words = entry.words_in(finding.names.get("stage_kind"))
    return replace(
        state,
        reason=finding.reason,
        numbers=dict(finding.numbers),
        names=dict(finding.names),
        batch_id=finding.batch_id,
        stage=finding.stage,
        consequence=words.consequence,
        advice=finding.advice or words.advice,
    )


def _without_delays(state: AlarmState, finding: Finding) -> AlarmState:
    if state.cause_stands:
        if finding.presence is Presence.NEAR and state.clearing_since is not None:
            return replace(state, clearing_since=None)
        return state
    if state.pending_since is None and state.since is None:
        return state
    return replace(state, pending_since=None, since=None)


def _judged(state: AlarmState, now: datetime) -> AlarmState:
    """With the time of this look where one is needed: an idle state stays equal, so that nobody stores it."""
    idle = (
        not state.standing
        and state.pending_since is None
        and state.shelved_until is None
        and state.suppressed_until is None
    )
    judged_at = None if idle else now
    return state if state.judged_at == judged_at else replace(state, judged_at=judged_at)


def _ended_flags(state: AlarmState, now: datetime) -> Stepped:
    changes: tuple[Transition, ...] = ()
    if state.shelved_until is not None and now >= state.shelved_until:
        state, changes = unshelve(state, None, now)
    if state.suppressed_until is not None and now >= state.suppressed_until:
        state, more = unsuppress(state, "Its time is over", now)
        changes += more
    return state, changes


def _respond_within(finding: Finding, entry: AlarmType) -> float:
    if finding.respond_within_s is not None:
        return finding.respond_within_s
    return entry.words_in(finding.names.get("stage_kind")).respond_within_s


def _change(
    before: AlarmState, changed: AlarmState, event: Event, finding: Finding, now: datetime
) -> Transition:
    return Transition(
        before.subject, now, event, before.core, changed.core, finding.reason, dict(finding.numbers)
    )
