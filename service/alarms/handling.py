"""What people and the design do to an alarm: acknowledge, shelve, suppress, out of service. Pure.

Each gives the new state and its transitions, or refuses with one sentence.
"""

import math
from dataclasses import replace
from datetime import datetime, timedelta

from service.alarms.model import AlarmState, CoreState, Transition
from service.alarms.table import Event, after
from service.alarms.timers import after_set_back
from service.errors import ConflictError, InvalidInputError, Problem

LEAST_SHELVE_S = 60.0
MOST_SHELVE_S = 86400.0
"""A shelf lasts a day at most, so that no alarm is forgotten on it; it can be shelved anew, knowingly."""

Handled = tuple[AlarmState, tuple[Transition, ...]]


def acknowledge(state: AlarmState, by: str, note: str, now: datetime) -> Handled:
    """A person has seen it. ConflictError when nothing is left to acknowledge or somebody already has."""
    who = _named(by, "/by")
    if state.core is CoreState.ACKNOWLEDGED or (not state.standing and state.acknowledged_at is not None):
        raise ConflictError(
            f"{state.acknowledged_by} has already acknowledged this alarm{_at(state.acknowledged_at)}."
        )
    if not state.standing:
        raise ConflictError("This alarm has ended: nothing is left to acknowledge.")
    seen = replace(
        state,
        core=after(state.core, Event.ACKNOWLEDGED),
        acknowledged_at=now,
        acknowledged_by=who,
        next_reminder_at=None,
    )
    if not seen.standing:
        # They saw that it had returned when they acknowledged it.
        seen = replace(seen, return_known=True)
    cause = f"Acknowledged by {who}" + (f": {note.strip()}" if note.strip() else "")
    return seen, (_change(state, Event.ACKNOWLEDGED, cause, now),)


def shelve(state: AlarmState, for_s: float, reason: str, by: str, now: datetime) -> Handled:
    """Silent for `for_s` seconds (a minute to a day) with a reason; shelving again sets a new end."""
    who, why = _named(by, "/by"), _named(reason, "/reason")
    if not math.isfinite(for_s) or not LEAST_SHELVE_S <= for_s <= MOST_SHELVE_S:
        raise InvalidInputError(
            Problem(
                "/for_s",
                f"{for_s:g} s is not between {LEAST_SHELVE_S:g} and {MOST_SHELVE_S:g} s",
                "A shelf always has an end, within a day: choose a time between a minute and a day.",
            )
        )
    state = after_set_back(state, now)
    until = now + timedelta(seconds=for_s)
    shelved = replace(state, shelved_until=until, shelve_reason=why, judged_at=now)
    cause = f"Shelved by {who} until {until:%Y-%m-%d %H:%M} UTC: {why}"
    return shelved, (_change(state, Event.SHELVED, cause, now),)


def unshelve(state: AlarmState, by: str | None, now: datetime) -> Handled:
    """Off the shelf: by a person, or (by None) because its time has come."""
    if state.shelved_until is None:
        raise ConflictError("This alarm is not shelved.")
    cause = "The shelf has ended" if by is None else f"Taken off the shelf by {_named(by, '/by')}"
    loud = replace(state, shelved_until=None, shelve_reason=None)
    return loud, (_change(state, Event.UNSHELVED, cause, now),)


def suppress(state: AlarmState, by_cause: str, now: datetime, until: datetime | None = None) -> Handled:
    """Prevent new alarms by design, until unsuppressed or `until`. One that stands goes on standing.

    The same cause again changes nothing but the end; another cause is a ConflictError.
    """
    why = _named(by_cause, "/by_cause")
    if state.suppressed_by is not None:
        if state.suppressed_by != why:
            raise ConflictError(f"This alarm is already suppressed: {state.suppressed_by}.")
        return replace(state, suppressed_until=until), ()
    state = after_set_back(state, now)
    quiet = replace(
        state,
        suppressed_by=why,
        suppressed_until=until,
        pending_since=None,
        since=state.since if state.cause_stands else None,
        judged_at=now,
    )
    return quiet, (_change(state, Event.SUPPRESSED, f"Suppressed: {why}", now),)


def unsuppress(state: AlarmState, cause: str, now: datetime) -> Handled:
    """New alarms are possible again, `cause` saying why; their delays begin anew."""
    if state.suppressed_by is None:
        raise ConflictError("This alarm is not suppressed.")
    free = replace(state, suppressed_by=None, suppressed_until=None)
    words = f"No longer suppressed ({state.suppressed_by}): {_named(cause, '/cause')}"
    return free, (_change(state, Event.UNSUPPRESSED, words, now),)


def take_out_of_service(state: AlarmState, reason: str, by: str, now: datetime) -> Handled:
    """No new alarms and no messages until it is put back. One that stands stays listed and can return."""
    who, why = _named(by, "/by"), _named(reason, "/reason")
    if state.out_of_service:
        raise ConflictError("This alarm is already out of service.")
    out = replace(
        state,
        out_of_service=True,
        pending_since=None,
        since=state.since if state.cause_stands else None,
    )
    return out, (_change(state, Event.OUT_OF_SERVICE, f"Out of service by {who}: {why}", now),)


def return_to_service(state: AlarmState, by: str, now: datetime) -> Handled:
    """Back into service; delays begin anew."""
    who = _named(by, "/by")
    if not state.out_of_service:
        raise ConflictError("This alarm is in service already.")
    back = replace(state, out_of_service=False)
    return back, (_change(state, Event.IN_SERVICE, f"Back in service by {who}", now),)


def _named(words: str, field: str) -> str:
    said = words.strip()
    if not said:
        raise InvalidInputError(Problem(field, "is empty", "Say it in a few words."))
    return said


def _at(when: datetime | None) -> str:
    return "" if when is None else f" at {when:%Y-%m-%d %H:%M} UTC"


def _change(before: AlarmState, event: Event, cause: str, now: datetime) -> Transition:
    return Transition(before.subject, now, event, before.core, after(before.core, event), cause)
