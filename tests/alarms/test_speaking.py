from dataclasses import replace
from datetime import datetime, time
from itertools import pairwise

import pytest

from service.alarms.lifecycle import acknowledge, shelve, suppress, take_out_of_service
from service.alarms.model import AlarmState, CoreState, Presence, Priority, Subject
from service.alarms.quiet import QuietHours
from service.alarms.speaking import REMINDERS_S, Reason, hold_off_s, message_due, spoken
from tests.alarms.making import BERLIN, T0, WARM, at, raised, run

PRESENT, ABSENT = Presence.PRESENT, Presence.ABSENT
NIGHTS = QuietHours(BERLIN, {day: (time(22), time(7)) for day in range(7)})
HOUR = 3600


def night(clock: str) -> float:
    """Seconds from the tests' beginning (14:05) to that time of the night after, in Berlin."""
    hour, minute = (int(part) for part in clock.split(":"))
    return (hour - 14) * HOUR + (minute - 5) * 60 + (24 * HOUR if hour < 14 else 0)


def told(state: AlarmState, reason: Reason, seconds: float) -> AlarmState:
    """Spoken, after it was really due."""
    assert message_due(state, None, at(seconds)) is reason
    return spoken(state, reason, at(seconds))


def test_what_is_raised_is_said_once() -> None:
    state = told(raised(), Reason.FIRST, 0)

    assert message_due(state, None, at(1)) is None
    assert state.spoken_priority is Priority.MEDIUM


@pytest.mark.parametrize("core", [CoreState.NORMAL, CoreState.RETURNED_UNACKNOWLEDGED])
def test_what_does_not_stand_is_not_said(core: CoreState) -> None:
    assert message_due(replace(raised(), core=core), None, at(1)) is None


def test_what_was_acknowledged_on_the_page_before_any_message_needs_none() -> None:
    state, _ = acknowledge(raised(), "Ana", "", at(1))

    assert message_due(state, None, at(2)) is None


@pytest.mark.parametrize("priority", list(Priority))
def test_reminders_come_at_growing_intervals_and_end(priority: Priority) -> None:
    state = told(raised(priority), Reason.FIRST, 0)
    came = []
    for minute in range(1, 10 * 1440):
        if message_due(state, None, at(minute * 60)) is Reason.REMINDER:
            state = spoken(state, Reason.REMINDER, at(minute * 60))
            came.append(minute * 60)

    waits = [later - before for before, later in pairwise([0, *came])]
    assert waits == list(REMINDERS_S[priority])
    assert waits == sorted(waits)


def test_an_acknowledgement_ends_the_reminders() -> None:
    state = told(raised(), Reason.FIRST, 0)

    state, _ = acknowledge(state, "Ana", "", at(60))

    assert message_due(state, None, at(9 * HOUR)) is None


def test_more_weight_is_said_once_even_when_acknowledged() -> None:
    state = told(raised(Priority.LOW), Reason.FIRST, 0)
    state, _ = acknowledge(state, "Ana", "", at(60))
    state, _ = run(state, PRESENT, [70], priority=Priority.HIGH)

    state = told(state, Reason.RAISED_IN_PRIORITY, 70)
    state, _ = run(state, PRESENT, [80], priority=Priority.LOW)
    state = spoken(state, Reason.REMINDER, at(85))
    state, _ = run(state, PRESENT, [90], priority=Priority.HIGH)

    assert message_due(state, None, at(90)) is None


def test_its_return_is_said_when_its_coming_was() -> None:
    first = told(raised(), Reason.FIRST, 0)
    state, _ = run(first, ABSENT, [600], clear_after_s=0.0)

    state = told(state, Reason.RETURNED, 600)

    assert message_due(state, None, at(601)) is None


def test_the_return_of_an_acknowledged_alarm_is_said_too() -> None:
    state = told(raised(), Reason.FIRST, 0)
    state, _ = acknowledge(state, "Ana", "", at(60))
    state, _ = run(state, ABSENT, [600], clear_after_s=0.0)

    assert state.core is CoreState.NORMAL
    told(state, Reason.RETURNED, 600)


def test_a_return_that_somebody_has_acknowledged_is_not_said() -> None:
    state = told(raised(), Reason.FIRST, 0)
    state, _ = run(state, ABSENT, [600], clear_after_s=0.0)
    state, _ = acknowledge(state, "Ana", "", at(601))

    assert message_due(state, None, at(602)) is None


def test_what_came_and_went_unsaid_is_not_said_to_have_returned() -> None:
    state, _ = run(raised(), ABSENT, [600], clear_after_s=0.0)

    assert message_due(state, None, at(600)) is None


def test_a_stage_that_no_longer_waits_needs_no_message() -> None:
    due = Subject("stage-due", "bucket", other="primary/0")
    state = told(raised(Priority.LOW, subject=due), Reason.FIRST, 0)
    state, _ = run(state, ABSENT, [600])

    assert state.core is CoreState.RETURNED_UNACKNOWLEDGED
    assert message_due(state, None, at(600)) is None


def test_quiet_hours_hold_it_until_their_end_and_the_reason_says_so() -> None:
    state = raised(seconds=night("23:00"))

    assert message_due(state, NIGHTS, at(night("23:00"))) is None
    assert message_due(state, NIGHTS, at(night("6:59"))) is None
    assert message_due(state, NIGHTS, at(night("7:00"))) is Reason.END_OF_QUIET_HOURS
    said = spoken(state, Reason.END_OF_QUIET_HOURS, at(night("7:00")))
    assert message_due(said, NIGHTS, at(night("7:01"))) is None


def test_high_passes_quiet_hours() -> None:
    assert message_due(raised(Priority.HIGH, night("23:00")), NIGHTS, at(night("23:00"))) is Reason.FIRST


def test_what_came_and_went_in_quiet_hours_wakes_nobody_afterwards() -> None:
    state = raised(seconds=night("23:00"))
    state, _ = run(state, ABSENT, [night("1:00")], clear_after_s=0.0)

    assert message_due(state, NIGHTS, at(night("7:00"))) is None


def test_a_reminder_and_a_return_wait_for_the_end_of_quiet_hours() -> None:
    state = told(raised(seconds=night("21:30")), Reason.FIRST, night("21:30"))
    returned, _ = run(state, ABSENT, [night("1:00")], clear_after_s=0.0)

    assert message_due(state, NIGHTS, at(night("23:00"))) is None
    assert message_due(state, NIGHTS, at(night("7:00"))) is Reason.REMINDER
    assert message_due(returned, NIGHTS, at(night("1:00"))) is None
    assert message_due(returned, NIGHTS, at(night("7:00"))) is Reason.RETURNED


def test_a_watch_that_had_been_down_stands_out_the_night_and_is_said_in_the_morning() -> None:
    down = Subject("was-down")
    state = raised(subject=down, seconds=night("3:00"))
    state, _ = run(state, Presence.UNKNOWN, range(int(night("3:01")), int(night("7:00")), 600))

    assert message_due(state, NIGHTS, at(night("7:00"))) is Reason.END_OF_QUIET_HOURS


def test_a_shelved_alarm_is_silent_and_speaks_when_it_still_stands_at_the_end() -> None:
    state, _ = shelve(raised(), 2 * HOUR, "I know", "Ana", at(0))

    assert message_due(state, None, at(2 * HOUR - 1)) is None
    assert message_due(state, None, at(2 * HOUR)) is Reason.FIRST


def test_what_returned_on_the_shelf_is_no_news_afterwards() -> None:
    state, _ = shelve(told(raised(), Reason.FIRST, 0), 2 * HOUR, "I know", "Ana", at(10))
    state, _ = run(state, ABSENT, [20], clear_after_s=0.0)

    assert message_due(state, None, at(3 * HOUR)) is None


def test_a_return_after_the_shelf_is_news_again() -> None:
    state, _ = shelve(told(raised(), Reason.FIRST, 0), HOUR, "I know", "Ana", at(10))
    state, _ = run(state, ABSENT, [20], clear_after_s=0.0)
    state, _ = run(state, PRESENT, [2 * HOUR], after_s=0.0)
    state, _ = run(state, ABSENT, [3 * HOUR], clear_after_s=0.0)

    assert message_due(state, None, at(3 * HOUR)) is Reason.RETURNED


def test_out_of_service_is_silent_and_suppression_is_not() -> None:
    out, _ = take_out_of_service(raised(), "new probe", "Ana", at(0))
    suppressed, _ = suppress(raised(), "the probe is dead", at(0))

    assert message_due(out, None, at(10)) is None
    assert message_due(suppressed, None, at(10)) is Reason.FIRST


def test_one_that_comes_back_after_its_return_was_said_is_said_again_but_later_each_time() -> None:
    state = raised()
    firsts: list[float] = []
    for second in range(0, 8 * HOUR, 60):
        presence = PRESENT if (second // 600) % 2 == 0 else ABSENT
        state, _ = run(state, presence, [second], after_s=0.0, clear_after_s=0.0)
        reason = message_due(state, None, at(second))
        if reason is not None:
            state = spoken(state, reason, at(second))
            firsts += [second] if reason is Reason.FIRST else []

    waits = [later - before for before, later in pairwise(firsts)]
    assert firsts[0] == 0
    assert waits
    assert min(waits) >= 1200
    assert waits[-1] >= 3 * HOUR


@pytest.mark.parametrize(
    ("flaps", "priority", "held_s"),
    [
        (0, Priority.LOW, 0),
        (1, Priority.LOW, 600),
        (5, Priority.LOW, 4 * HOUR),
        (99, Priority.LOW, 4 * HOUR),
        (99, Priority.HIGH, 1800),
        (0, Priority.HIGH, 0),
    ],
)
def test_the_hold_off_grows_to_an_end_and_stays_short_for_what_is_urgent(
    flaps: int, priority: Priority, held_s: float
) -> None:
    assert hold_off_s(flaps, priority) == held_s


def test_the_return_of_what_flaps_is_held_back_too() -> None:
    state = replace(told(raised(), Reason.FIRST, 0), flaps=2)
    state, _ = run(state, ABSENT, [60], clear_after_s=0.0)

    assert message_due(state, None, at(1799)) is None
    assert message_due(state, None, at(1800)) is Reason.RETURNED


def test_a_last_message_in_the_future_holds_nothing_back() -> None:
    state = replace(raised(), flaps=3, last_spoken_at=at(5 * HOUR))

    assert message_due(state, None, at(1)) is Reason.FIRST


def test_a_raise_held_back_into_quiet_hours_is_said_at_their_end() -> None:
    state = replace(raised(seconds=night("21:55")), last_spoken_at=at(night("21:50")), flaps=1)

    assert message_due(state, NIGHTS, at(night("21:59"))) is None
    assert message_due(state, NIGHTS, at(night("7:00"))) is Reason.END_OF_QUIET_HOURS


def test_the_hours_are_those_of_berlin() -> None:
    assert at(night("22:00")) == datetime(2026, 11, 25, 22, tzinfo=BERLIN)
    assert at(night("7:00")) == datetime(2026, 11, 26, 7, tzinfo=BERLIN)
    assert WARM.vessel_id == "bucket"
    assert datetime(2026, 11, 25, 14, 5, tzinfo=BERLIN) == T0
