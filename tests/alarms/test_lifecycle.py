from dataclasses import replace
from datetime import timedelta

import pytest

from service.alarms.lifecycle import (
    acknowledge,
    return_to_service,
    shelve,
    step,
    suppress,
    take_out_of_service,
    unsuppress,
)
from service.alarms.model import AlarmState, CoreState, Presence, Priority, Subject
from tests.alarms.making import T0, WARM, at, finding, raised, run

PRESENT, NEAR, ABSENT, UNKNOWN = Presence.PRESENT, Presence.NEAR, Presence.ABSENT, Presence.UNKNOWN


def test_it_is_raised_when_the_cause_has_lasted_for_the_delay_and_not_before() -> None:
    before, none = run(AlarmState(WARM), PRESENT, range(0, 600, 10))
    after, changes = run(before, PRESENT, [600])

    assert not before.standing
    assert none == ()
    assert after.core is CoreState.UNACKNOWLEDGED
    assert after.raised_at == at(600)
    assert after.since == at(0)
    assert [(c.event, c.cause, c.numbers) for c in changes] == [
        ("raised", "22.6 C since 14:05, 1.1 C over the band", {"now_c": 22.6})
    ]


def test_the_delay_of_the_finding_goes_before_that_of_the_catalogue() -> None:
    state, _ = run(AlarmState(WARM), PRESENT, [0, 30, 60], after_s=60.0)

    assert state.raised_at == at(60)


@pytest.mark.parametrize("between", [NEAR, ABSENT])
def test_a_cause_that_goes_away_before_the_delay_is_over_begins_anew(between: Presence) -> None:
    state, _ = run(AlarmState(WARM), PRESENT, range(0, 600, 10))
    state, _ = run(state, between, [600])
    state, _ = run(state, PRESENT, range(610, 1210, 10))

    assert not state.standing
    state, _ = run(state, PRESENT, [1210])
    assert state.standing


def test_a_dropout_neither_raises_nor_ends_a_delay() -> None:
    state, _ = run(AlarmState(WARM), PRESENT, range(0, 300, 10))
    pending, _ = run(state, UNKNOWN, range(300, 330, 10))
    after, _ = run(pending, PRESENT, range(330, 610, 10))

    assert pending == state
    assert after.raised_at == at(600)


def test_it_keeps_the_alarm_when_the_probe_goes_silent() -> None:
    state = raised()

    later, changes = run(state, UNKNOWN, range(10, 90_000, 600))

    assert later == replace(state, unknown_since=at(10))
    assert changes == ()


@pytest.mark.parametrize("presence", [PRESENT, NEAR, ABSENT])
def test_what_is_seen_again_is_known_again(presence: Presence) -> None:
    unseen, _ = run(raised(), UNKNOWN, [10, 20])

    seen, _ = run(unseen, presence, [30])

    assert unseen.unknown_since == at(10)
    assert seen.unknown_since is None


def test_only_what_stands_at_a_vessel_can_become_unknown() -> None:
    itself = raised(subject=Subject("was-down"))
    over, _ = run(raised(), ABSENT, [10], clear_after_s=0.0)

    assert run(itself, UNKNOWN, [20]) == (itself, ())
    assert run(over, UNKNOWN, [20]) == (over, ())


def test_it_holds_inside_the_deadband_and_returns_only_beyond_it() -> None:
    state = raised()

    held, _ = run(state, NEAR, range(10, 7200, 10))
    nearly, _ = run(held, ABSENT, range(7200, 7800, 10))
    gone, changes = run(nearly, ABSENT, [7800])

    assert held.core is CoreState.UNACKNOWLEDGED
    assert nearly.core is CoreState.UNACKNOWLEDGED
    assert gone.core is CoreState.RETURNED_UNACKNOWLEDGED
    assert gone.returned_at == at(7800)
    assert gone.since is None
    assert [c.event for c in changes] == ["returned"]


@pytest.mark.parametrize("between", [NEAR, PRESENT])
def test_what_comes_back_before_it_has_returned_begins_the_return_anew(between: Presence) -> None:
    state, _ = run(raised(), ABSENT, range(10, 600, 10))
    state, _ = run(state, between, [600])
    state, _ = run(state, ABSENT, range(610, 1210, 10))

    assert state.core is CoreState.UNACKNOWLEDGED
    state, _ = run(state, ABSENT, [1210])
    assert state.core is CoreState.RETURNED_UNACKNOWLEDGED


def test_the_words_and_numbers_of_an_alarm_follow_the_newest_finding_while_it_stands() -> None:
    state, _ = run(raised(), PRESENT, [10], reason="23.0 C since 14:05, 1.5 C over the band")
    gone, changes = run(state, ABSENT, [20], clear_after_s=0.0, reason="20.9 C, inside the band")

    assert state.reason == "23.0 C since 14:05, 1.5 C over the band"
    assert gone.reason == state.reason
    assert gone.returned_because == changes[0].cause == "20.9 C, inside the band"


def test_the_same_alarm_goes_on_when_it_comes_back_before_anybody_saw_that_it_had_returned() -> None:
    state, _ = run(raised(), ABSENT, [10], clear_after_s=0.0)
    again, changes = run(state, PRESENT, [20], after_s=0.0)

    assert [c.event for c in changes] == ["raised-again"]
    assert again.alarm_id == 1
    assert again.raised_at == at(0)
    assert again.episode_at == at(20)
    assert again.returned_at is None


def test_a_new_raise_after_the_alarm_has_ended_is_a_new_alarm() -> None:
    state, _ = acknowledge(raised(), "Ana", "", at(5))
    ended, _ = run(state, ABSENT, [10], clear_after_s=0.0)
    new, changes = run(ended, PRESENT, [20], after_s=0.0)

    assert ended.alarm_id == 1
    assert [c.event for c in changes] == ["raised"]
    assert (new.alarm_id, new.raised_at) == (None, at(20))
    assert (new.acknowledged_at, new.acknowledged_by) == (None, None)


def test_it_answers_by_the_time_the_catalogue_gives() -> None:
    assert raised().respond_by == T0 + timedelta(hours=2)


def test_more_weight_is_a_transition_that_keeps_the_acknowledgement_and_hastens_the_answer() -> None:
    state, _ = acknowledge(raised(Priority.LOW), "Ana", "", at(5))
    heavier, changes = step(
        state, replace(finding(PRESENT, priority=Priority.HIGH), respond_within_s=60.0), at(10)
    )

    assert [c.event for c in changes] == ["priority-raised"]
    assert heavier.core is CoreState.ACKNOWLEDGED
    assert heavier.priority is Priority.HIGH
    assert heavier.respond_by == at(70)


def test_less_weight_is_a_transition_too() -> None:
    lighter, changes = run(raised(Priority.HIGH), PRESENT, [10], priority=Priority.LOW)

    assert [c.event for c in changes] == ["priority-lowered"]
    assert lighter.priority is Priority.LOW


def test_it_counts_how_often_it_comes_back_within_an_hour() -> None:
    state = raised()
    for minute in (10, 20, 30):
        state, _ = run(state, ABSENT, [minute * 60], clear_after_s=0.0)
        state, _ = run(state, PRESENT, [minute * 60 + 300], after_s=0.0)
    flapping = state.flaps
    state, _ = run(state, ABSENT, [3600], clear_after_s=0.0)
    state, _ = run(state, PRESENT, [7200], after_s=0.0)

    assert flapping == 3
    assert state.flaps == 0


def test_suppression_prevents_a_new_alarm_and_its_delay_begins_anew_afterwards() -> None:
    state, _ = run(AlarmState(WARM), PRESENT, range(0, 590, 10))
    state, _ = suppress(state, "the stage changes", at(590))
    quiet, none = run(state, PRESENT, range(600, 1200, 10))
    state, _ = unsuppress(quiet, "the stage has changed", at(1200))
    pending, _ = run(state, PRESENT, range(1200, 1800, 10))

    assert (quiet.core, none) == (CoreState.NORMAL, ())
    assert not pending.standing
    assert run(pending, PRESENT, [1800])[0].standing


def test_suppression_does_not_hide_an_alarm_that_stands() -> None:
    state, _ = suppress(raised(), "the probe is dead", at(10))

    state, _ = run(state, PRESENT, [20])

    assert state.core is CoreState.UNACKNOWLEDGED
    assert state.reason


def test_a_suppressed_alarm_can_return_but_not_come_again() -> None:
    state, _ = suppress(raised(), "the probe is dead", at(10))
    state, _ = run(state, ABSENT, [20], clear_after_s=0.0)
    state, _ = run(state, PRESENT, range(30, 3600, 10), after_s=0.0)

    assert state.core is CoreState.RETURNED_UNACKNOWLEDGED


def test_a_suppression_for_a_while_ends_by_itself_even_without_data() -> None:
    state, _ = suppress(AlarmState(WARM), "I am working on it", at(0), until=at(600))

    before, none = run(state, UNKNOWN, [590])
    after, changes = run(before, UNKNOWN, [600])

    assert (before.suppressed_by, none) == ("I am working on it", ())
    assert after.suppressed_by is None
    assert [c.event for c in changes] == ["unsuppressed"]


def test_a_shelf_ends_by_itself_and_says_so() -> None:
    state, _ = shelve(raised(), 3600, "I know", "Ana", at(0))

    before, none = run(state, UNKNOWN, [3599])
    after, changes = run(before, UNKNOWN, [3600])

    assert (before.is_shelved(at(3599)), none) == (True, ())
    assert (after.shelved_until, after.shelve_reason) == (None, None)
    assert [c.event for c in changes] == ["unshelved"]


def test_a_shelved_alarm_goes_on_living() -> None:
    state, _ = shelve(AlarmState(WARM), 3600, "I know", "Ana", at(0))

    state, _ = run(state, PRESENT, [10], after_s=0.0)

    assert state.core is CoreState.UNACKNOWLEDGED


def test_out_of_service_prevents_new_alarms_lets_old_ones_return_and_begins_anew_afterwards() -> None:
    out, _ = take_out_of_service(AlarmState(WARM), "new probe", "Ana", at(0))
    silent, _ = run(out, PRESENT, range(10, 1000, 10))
    standing, _ = take_out_of_service(raised(), "new probe", "Ana", at(0))
    returned, _ = run(standing, ABSENT, [10], clear_after_s=0.0)
    back, _ = return_to_service(silent, "Ana", at(1000))
    pending, _ = run(back, PRESENT, [1000])

    assert not silent.standing
    assert returned.core is CoreState.RETURNED_UNACKNOWLEDGED
    assert not pending.standing


@pytest.mark.parametrize("presence", [ABSENT, NEAR, UNKNOWN])
def test_an_idle_state_stays_equal_so_that_nobody_stores_it(presence: Presence) -> None:
    idle = AlarmState(WARM)

    assert run(idle, presence, range(0, 100, 10)) == (idle, ())


def test_it_refuses_a_naive_time_and_a_finding_about_something_else() -> None:
    with pytest.raises(ValueError, match="offset"):
        step(AlarmState(WARM), finding(PRESENT), T0.replace(tzinfo=None))
    with pytest.raises(ValueError, match="cannot judge"):
        step(AlarmState(WARM), finding(PRESENT, Subject("below-band", "bucket")), T0)
