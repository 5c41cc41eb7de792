"""Whatever happens in whatever order: no acknowledgement is lost, nothing stands with its cause gone,
and nothing is said twice for one reason.
"""

from dataclasses import replace
from datetime import datetime, time, timedelta
from itertools import pairwise

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from service.alarms.lifecycle import (
    acknowledge,
    return_to_service,
    shelve,
    step,
    suppress,
    take_out_of_service,
    unshelve,
    unsuppress,
)
from service.alarms.model import (
    AlarmState,
    CoreState,
    Finding,
    Presence,
    Priority,
    Transition,
    state_from_json,
    to_json,
)
from service.alarms.quiet import QuietHours
from service.alarms.said import Said, said_from_json, said_of, said_to_json, with_said
from service.alarms.speaking import REMINDERS_S, Reason, message_due, spoken
from service.alarms.table import TABLE, Event
from tests.alarms.making import BERLIN, T0, WARM

AFTER_S, CLEAR_S, TICK_S = 120.0, 120.0, 20
NIGHTS = QuietHours(BERLIN, {day: (time(22), time(7)) for day in range(7)})
Handled = tuple[AlarmState, tuple[Transition, ...]]
WANTS_A_HAND = (CoreState.UNACKNOWLEDGED, CoreState.RETURNED_UNACKNOWLEDGED)


class AlarmLife(RuleBasedStateMachine):
    """One alarm, two channels, people, restarts and a clock that jumps."""

    def __init__(self) -> None:
        super().__init__()
        self.now = T0
        self.state = AlarmState(WARM)
        self.said: dict[str, Said | None] = {"mail": None, "phone": None}
        self.history: list[Transition] = []
        self.messages: dict[str, list[tuple[Reason, datetime, AlarmState]]] = {"mail": [], "phone": []}
        self.gone_for_s = 0.0
        self.there_for_s = 0.0
        self.jumped = False

    @initialize(hour=st.integers(0, 23))
    def begin(self, hour: int) -> None:
        self.now = T0 + timedelta(hours=hour)

    @rule(
        presence=st.sampled_from(Presence),
        looks=st.integers(1, 12),
        priority=st.sampled_from(Priority),
    )
    def look(self, presence: Presence, looks: int, priority: Priority) -> None:
        for _ in range(looks):
            self.now += timedelta(seconds=TICK_S)
            self._count(presence)
            self._take(
                step(
                    self.state,
                    Finding(WARM, presence, "seen", {}, AFTER_S, CLEAR_S, priority),
                    self.now,
                )
            )
            self._speak()
            assert not (self.gone_for_s > CLEAR_S + TICK_S and self.state.cause_stands)
            if self.there_for_s > AFTER_S + TICK_S and self._can_be_raised():
                assert self.state.cause_stands

    @rule(hours=st.integers(1, 40), presence=st.sampled_from([Presence.PRESENT, Presence.UNKNOWN]))
    def wait_long(self, hours: int, presence: Presence) -> None:
        for _ in range(hours):
            self.now += timedelta(hours=1)
            self.gone_for_s = self.there_for_s = 0.0
            self._take(step(self.state, Finding(WARM, presence, "seen", {}, AFTER_S, CLEAR_S), self.now))
            self._speak()

    @precondition(lambda self: self.state.core in WANTS_A_HAND)
    @rule()
    def acknowledge(self) -> None:
        self._take(acknowledge(self.state, "Ana", "", self.now))

    @precondition(lambda self: self.state.shelved_until is None)
    @rule(for_s=st.integers(60, 86_400))
    def shelve(self, for_s: int) -> None:
        self._take(shelve(self.state, for_s, "I know", "Ana", self.now))

    @precondition(lambda self: self.state.shelved_until is not None)
    @rule()
    def unshelve(self) -> None:
        self._take(unshelve(self.state, "Ana", self.now))

    @precondition(lambda self: self.state.suppressed_by is None)
    @rule()
    def suppress(self) -> None:
        stood = self.state.core
        self._take(suppress(self.state, "the stage changes", self.now))
        assert self.state.core is stood

    @precondition(lambda self: self.state.suppressed_by is not None)
    @rule()
    def unsuppress(self) -> None:
        self._take(unsuppress(self.state, "the stage has changed", self.now))
        self.there_for_s = 0.0

    @precondition(lambda self: not self.state.out_of_service)
    @rule()
    def take_out(self) -> None:
        self._take(take_out_of_service(self.state, "new probe", "Ana", self.now))

    @precondition(lambda self: self.state.out_of_service)
    @rule()
    def put_back(self) -> None:
        self._take(return_to_service(self.state, "Ana", self.now))
        self.there_for_s = 0.0

    @rule()
    def restart(self) -> None:
        self.state = state_from_json(to_json(self.state))
        self.said = {
            channel: None if said is None else said_from_json(said_to_json(said))
            for channel, said in self.said.items()
        }

    @precondition(lambda self: not self.jumped)
    @rule(hours=st.integers(1, 12))
    def set_the_clock_back(self, hours: int) -> None:
        self.now -= timedelta(hours=hours)
        self.gone_for_s = self.there_for_s = 0.0
        self.jumped = True

    @invariant()
    def the_history_is_one_chain_of_rows_of_the_table(self) -> None:
        rows = {(row.before, row.event, row.after) for row in TABLE}
        assert all((t.before, t.event, t.after) in rows for t in self.history)
        assert all(one.after is next_.before for one, next_ in pairwise(self.history))
        assert self.state.core is (self.history[-1].after if self.history else CoreState.NORMAL)

    @invariant()
    def no_acknowledgement_is_lost(self) -> None:
        for one, next_ in pairwise([t for t in self.history if t.before is not t.after]):
            if one.event == Event.ACKNOWLEDGED:
                assert next_.event in (Event.RETURNED, Event.RAISED)
        if self.state.core is CoreState.ACKNOWLEDGED:
            assert self.state.acknowledged_by == "Ana"

    @invariant()
    def nothing_is_said_twice_for_one_reason(self) -> None:
        for messages in self.messages.values():
            self._said_once(messages)

    def _said_once(self, messages: list[tuple[Reason, datetime, AlarmState]]) -> None:
        told: AlarmState | None = None
        heaviest, reminders = 0, 0
        for reason, _, state in messages:
            if reason in (Reason.FIRST, Reason.END_OF_QUIET_HOURS):
                assert told is None or told.instance != state.instance
                told, heaviest, reminders = state, state.priority.rank, 0
            elif reason is Reason.RETURNED:
                assert told is not None
                assert told.instance == state.instance
                told = None
            else:
                assert told is not None
                assert told.instance == state.instance
                if reason is Reason.RAISED_IN_PRIORITY:
                    assert state.priority.rank > heaviest
                    heaviest, reminders = state.priority.rank, 0
                else:
                    reminders += 1
                    assert reminders <= max(len(waits) for waits in REMINDERS_S.values())
                    assert state.core is CoreState.UNACKNOWLEDGED

    def _can_be_raised(self) -> bool:
        return self.state.suppressed_by is None and not self.state.out_of_service

    def _count(self, presence: Presence) -> None:
        self.gone_for_s = self.gone_for_s + TICK_S if presence is Presence.ABSENT else 0.0
        self.there_for_s = self.there_for_s + TICK_S if presence is Presence.PRESENT else 0.0

    def _take(self, handled: Handled) -> None:
        self.state, changes = handled
        if any(t.event in (Event.RAISED, Event.RAISED_AGAIN) for t in changes):
            assert self.state.suppressed_by is None
            assert not self.state.out_of_service
        if self.state.alarm_id is None and self.state.standing:
            self.state = replace(self.state, alarm_id=len(self.history) + 1)
        self.history += changes

    def _speak(self) -> None:
        for channel, quiet in (("mail", None), ("phone", NIGHTS)):
            state = with_said(self.state, self.said[channel])
            reason = message_due(state, quiet, self.now)
            if reason is None:
                continue
            assert not state.is_shelved(self.now)
            assert not state.out_of_service
            assert quiet is None or state.priority is Priority.HIGH or not quiet.covers(self.now)
            after = spoken(state, reason, self.now)
            assert message_due(after, quiet, self.now) is None
            self.said[channel] = said_of(after)
            self.messages[channel].append((reason, self.now, state))


AlarmLife.TestCase.settings = settings(max_examples=60, stateful_step_count=40, deadline=None)
TestAlarmLife = AlarmLife.TestCase
