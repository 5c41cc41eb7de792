"""The book of alarms: what every subject remembers, and how a change of it is committed.

Only the watch writes in it, under its lock. A change is first worked out, then committed together with
the messages it causes, and only then taken over: what is not committed has not happened.
"""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from types import MappingProxyType

from sqlalchemy import Connection

from service.alarms.lifecycle import acknowledge, step, suppress, unsuppress
from service.alarms.model import AlarmState, CoreState, Finding, Subject, Transition
from service.alarms.said import Said
from service.alarms.timers import clock_moved
from service.errors import ConflictError
from service.record.alarms import (
    add_transition,
    forget_memory,
    forget_said,
    load_memories,
    load_said,
    new_alarm,
    store_memory,
    store_said,
)
from service.watch.asked import is_spent
from service.watch.listening import Ears
from service.watch.speech import Speech, Voice, due_speech, put_into_outbox

BREWER = "the brewer"
"""Whoever acts without saying a name."""

Handled = tuple[AlarmState, tuple[Transition, ...]]
Handling = Callable[[AlarmState, datetime], Handled]


@dataclass(frozen=True, slots=True)
class Change:
    """A change of the book that is not committed yet."""

    states: Mapping[Subject, AlarmState]
    transitions: tuple[Transition, ...]
    speeches: tuple[Speech, ...]

    @property
    def urgent(self) -> bool:
        """Whether it must be committed at once."""
        return bool(self.transitions or self.speeches)


class Book:
    """What every subject remembers."""

    def __init__(self) -> None:
        self.states: dict[Subject, AlarmState] = {}
        self.said: dict[tuple[str, Subject], Said] = {}
        self._stored: dict[Subject, AlarmState] = {}

    def load(self, connection: Connection) -> None:
        """Read what was remembered at the last commit."""
        self._stored = load_memories(connection)
        self.states = dict(self._stored)
        self.said = load_said(connection)

    def clock_moved(self, by: timedelta) -> None:
        """The wall clock was set while the watch ran: running delays move along."""
        self.states = {subject: clock_moved(state, by) for subject, state in self.states.items()}

    def after_findings(
        self,
        findings: Collection[Finding],
        ears: Ears,
        voice: Voice,
        now: datetime,
        done: Collection[Subject] = (),
        suppressed: Mapping[Subject, str] = MappingProxyType({}),
    ) -> Change:
        """What follows from one look; nothing is changed yet.

        done: what a person has seen to by deeds. suppressed: by design, with the cause; all else is free.
        """
        states: dict[Subject, AlarmState] = {}
        transitions: list[Transition] = []
        for subject in done:
            state = self.states[subject]
            if state.core is CoreState.UNACKNOWLEDGED:
                states[subject], changed = acknowledge(state, BREWER, "the batch was taken on", now)
                transitions += changed
        for finding in findings:
            subject = finding.subject
            before = states.get(subject) or self.states.get(subject, AlarmState(subject))
            flagged, changed = _flagged(before, suppressed.get(subject), now)
            transitions += changed
            after, changed = step(flagged, finding, now)
            if after != before:
                states[subject] = after
            transitions += changed
        looked_at = {finding.subject for finding in findings}
        for subject, state in self.states.items():
            if state.suppressed_by is not None and subject not in looked_at:
                states[subject], changed = _flagged(states.get(subject, state), None, now)
                transitions += changed
        return self._with_speech(states, transitions, ears, voice, now)

    def after_handling(
        self, number: int, handling: Handling, ears: Ears, voice: Voice, now: datetime
    ) -> tuple[Subject, Change]:
        """What follows when somebody handles a standing alarm. ConflictError when it is over already."""
        before = next((s for s in self.states.values() if s.alarm_id == number and s.standing), None)
        if before is None:
            raise ConflictError(f"The alarm a-{number} is over; there is nothing to do.")
        after, changed = handling(before, now)
        return before.subject, self._with_speech({before.subject: after}, list(changed), ears, voice, now)

    def after_handling_subject(
        self, subject: Subject, handling: Handling, ears: Ears, voice: Voice, now: datetime
    ) -> Change:
        """What follows when somebody handles a subject, whether it has an alarm or not."""
        after, changed = handling(self.states.get(subject, AlarmState(subject)), now)
        return self._with_speech({subject: after}, list(changed), ears, voice, now)

    def _with_speech(
        self,
        states: dict[Subject, AlarmState],
        transitions: list[Transition],
        ears: Ears,
        voice: Voice,
        now: datetime,
    ) -> Change:
        every = {**self.states, **states}
        speeches = due_speech(ears, every.values(), self.said, voice.zone, now)
        return Change(states, tuple(transitions), tuple(speeches))

    def commit(
        self, connection: Connection, change: Change, voice: Voice, now: datetime
    ) -> dict[Subject, AlarmState]:
        """Write a change inside a transaction; returns the states with their alarms' numbers."""
        states = {**self.states, **change.states}
        raised = {t.subject for t in change.transitions}
        for subject in raised:
            state = states[subject]
            if state.alarm_id is None and state.raised_at is not None:
                states[subject] = replace(state, alarm_id=new_alarm(connection, state, now))
        for transition in change.transitions:
            number = states[transition.subject].alarm_id
            add_transition(connection, number, transition)
        put_into_outbox(connection, change.speeches, states, voice, now)
        for speech in change.speeches:
            store_said(connection, speech.channel_id, speech.subject, speech.remembered)
        for subject, state in states.items():
            if self._stored.get(subject) == state:
                continue
            if _is_spent(state):
                store_memory(connection, state)
                forget_memory(connection, subject)
                forget_said(connection, subject)
            else:
                store_memory(connection, state)
        return states

    def take_over(self, states: Mapping[Subject, AlarmState], change: Change) -> None:
        """Those states are committed, and what was said."""
        self.states = {s: state for s, state in states.items() if not _is_spent(state)}
        self._stored = dict(self.states)
        for speech in change.speeches:
            self.said[speech.channel_id, speech.subject] = speech.remembered
        self.said = {key: said for key, said in self.said.items() if key[1] in self.states}

    def carry(self, change: Change) -> None:
        """Take over running delays that no commit is hurried for."""
        self.states.update(change.states)

    def standing(self, vessel_id: str) -> int:
        """How many alarms of a vessel stand."""
        return sum(1 for s in tuple(self.states.values()) if s.standing and s.subject.vessel_id == vessel_id)


def _is_spent(state: AlarmState) -> bool:
    return is_spent(state) or state == AlarmState(state.subject)


def _flagged(
    state: AlarmState, cause: str | None, now: datetime
) -> tuple[AlarmState, tuple[Transition, ...]]:
    """Suppressed for this cause, or (None) not at all."""
    changes: tuple[Transition, ...] = ()
    if state.suppressed_by is not None and state.suppressed_by != cause:
        state, changes = unsuppress(state, "that is over", now)
    if cause is not None and state.suppressed_by is None:
        state, more = suppress(state, cause, now)
        changes += more
    return state, changes
