"""The clock is set back or ahead by hours while delays run, alarms stand, shelves lie and reminders wait."""

from dataclasses import fields
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.alarms.lifecycle import clock_moved, shelve, suppress
from service.alarms.model import AlarmState, CoreState, Presence, Priority
from service.alarms.said import said_of, with_said
from service.alarms.speaking import Reason, message_due, spoken
from tests.alarms.making import WARM, at, raised, run

PRESENT, ABSENT = Presence.PRESENT, Presence.ABSENT
HOURS = 5 * 3600


@pytest.mark.parametrize("jump_s", [HOURS, -HOURS])
def test_a_jump_raises_nothing_at_once_and_keeps_what_had_counted(jump_s: int) -> None:
    state, _ = run(AlarmState(WARM), PRESENT, range(0, 110, 10))

    jumped, _ = run(state, PRESENT, [110 + jump_s])
    soon, _ = run(jumped, PRESENT, range(120 + jump_s, 300 + jump_s, 10))
    late, _ = run(soon, PRESENT, range(300 + jump_s, 630 + jump_s, 10))

    assert not jumped.standing
    assert not soon.standing
    assert late.standing


def test_a_clock_set_back_does_not_put_the_alarm_off() -> None:
    state, _ = run(AlarmState(WARM), PRESENT, range(0, 590, 10))

    state, _ = run(state, PRESENT, range(590 - HOURS, 620 - HOURS, 10))

    assert state.standing


@pytest.mark.parametrize("jump_s", [HOURS, -HOURS])
def test_a_jump_clears_nothing_at_once_and_the_return_still_comes(jump_s: int) -> None:
    state, _ = run(raised(), ABSENT, range(10, 120, 10))

    jumped, _ = run(state, ABSENT, [120 + jump_s])
    late, _ = run(jumped, ABSENT, range(130 + jump_s, 640 + jump_s, 10))

    assert jumped.core is CoreState.UNACKNOWLEDGED
    assert late.core is CoreState.RETURNED_UNACKNOWLEDGED


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 69), st.integers(-10, 10).filter(bool))
def test_no_jump_of_the_clock_raises_an_alarm_before_half_of_its_delay(when: int, hours: int) -> None:
    clock, state = 0, AlarmState(WARM)
    for look in range(70):
        clock += 10 + (hours * 3600 if look == when else 0)
        state, _ = run(state, PRESENT, [clock], after_s=600.0)

        assert look * 10 >= 300 or not state.standing
    assert state.standing


def test_a_watch_that_sees_the_jump_by_its_monotonic_clock_miscounts_nothing() -> None:
    state, _ = run(AlarmState(WARM), PRESENT, range(0, 110, 10))
    state = clock_moved(state, timedelta(seconds=HOURS))

    before, _ = run(state, PRESENT, range(110 + HOURS, 600 + HOURS, 10))
    after, _ = run(before, PRESENT, [600 + HOURS])

    assert not before.standing
    assert after.standing


def test_a_start_in_the_future_with_no_last_look_begins_anew() -> None:
    odd = AlarmState(WARM, pending_since=at(HOURS))

    state, _ = run(odd, PRESENT, [0])

    assert state.pending_since == at(0)


def test_a_power_cut_in_the_middle_of_a_delay_neither_raises_at_once_nor_forgets() -> None:
    state, _ = run(AlarmState(WARM), PRESENT, range(0, 200, 10))

    back, _ = run(state, PRESENT, [HOURS])
    soon, _ = run(back, PRESENT, range(HOURS + 10, HOURS + 130, 10))

    assert not back.standing
    assert soon.standing


def test_a_shelf_and_a_suppression_are_not_prolonged_by_a_clock_set_back() -> None:
    state, _ = shelve(raised(), 3600, "I know", "Ana", at(0))
    state, _ = suppress(state, "I am working on it", at(0), until=at(3600))

    state, _ = run(state, PRESENT, range(-HOURS, 3590 - HOURS, 600))
    before = (state.shelved_until, state.suppressed_by)
    state, _ = run(state, PRESENT, [3601 - HOURS])

    assert before == (at(3600 - HOURS), "I am working on it")
    assert (state.shelved_until, state.suppressed_by) == (None, None)


def test_shelving_after_the_clock_was_set_back_keeps_the_running_delay() -> None:
    state, _ = run(AlarmState(WARM), PRESENT, range(0, 590, 10))

    state, _ = shelve(state, 3600, "I know", "Ana", at(590 - HOURS))
    state, _ = run(state, PRESENT, range(590 - HOURS, 620 - HOURS, 10))

    assert state.standing


def test_a_reminder_comes_neither_hours_late_nor_twice_when_the_clock_is_set_back() -> None:
    state = spoken(raised(), Reason.FIRST, at(0))
    state, _ = run(state, PRESENT, range(0, 1800, 60))

    state, _ = run(state, PRESENT, range(1800 - HOURS, 3590 - HOURS, 60))
    early = message_due(state, None, at(3590 - HOURS))
    due = message_due(state, None, at(3661 - HOURS))

    assert early is None
    assert due is Reason.REMINDER


def test_what_a_channel_was_told_moves_with_the_clock() -> None:
    told = said_of(spoken(raised(Priority.HIGH), Reason.FIRST, at(0)))
    state, _ = run(raised(Priority.HIGH), PRESENT, [10, 20 - HOURS], priority=Priority.HIGH)

    later = with_said(state, told)

    assert later.first_spoken_at == at(10 - HOURS)
    assert message_due(later, None, at(890 - HOURS)) is None
    assert message_due(later, None, at(911 - HOURS)) is Reason.REMINDER


def test_the_clock_moves_every_time_that_still_counts_and_no_other() -> None:
    times = [f.name for f in fields(AlarmState) if "datetime" in str(f.type)]
    state = AlarmState(WARM, **dict.fromkeys(times, at(0)))  # type: ignore[arg-type]

    moved = clock_moved(state, timedelta(seconds=60))

    assert {name for name in times if getattr(moved, name) == at(0)} == {
        "raised_at",
        "acknowledged_at",
        "returned_at",
    }
    assert all(getattr(moved, name) in (at(0), at(60)) for name in times)
    assert moved.shifted_s == 60


def test_history_stays_as_it_was_written() -> None:
    state, _ = run(raised(), PRESENT, [10, 20 - HOURS])

    assert state.raised_at == at(0)
