import math

import pytest

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
from service.alarms.model import AlarmState, CoreState, Presence
from service.errors import ConflictError, InvalidInputError
from tests.alarms.making import WARM, at, finding, raised


def test_an_acknowledgement_says_who_when_and_why() -> None:
    state, changes = acknowledge(raised(), " Ana ", "opened the door", at(60))

    assert (state.acknowledged_by, state.acknowledged_at) == ("Ana", at(60))
    assert [c.cause for c in changes] == ["Acknowledged by Ana: opened the door"]


def test_the_second_person_to_acknowledge_is_told_of_the_first() -> None:
    state, _ = acknowledge(raised(), "Ana", "", at(60))

    with pytest.raises(
        ConflictError, match="Ana has already acknowledged this alarm at 2026-11-25 13:06 UTC"
    ):
        acknowledge(state, "Ben", "", at(70))


def test_acknowledging_twice_after_the_alarm_has_ended_names_the_first_too() -> None:
    state, _ = acknowledge(raised(), "Ana", "", at(60))
    ended, _ = step(state, finding(Presence.ABSENT, clear_after_s=0.0), at(70))

    with pytest.raises(ConflictError, match="Ana has already"):
        acknowledge(ended, "Ana", "", at(80))


def test_nothing_can_be_acknowledged_where_nothing_stands() -> None:
    with pytest.raises(ConflictError, match="nothing is left to acknowledge"):
        acknowledge(AlarmState(WARM), "Ana", "", at(0))


def test_an_acknowledgement_by_nobody_is_refused() -> None:
    with pytest.raises(InvalidInputError) as refused:
        acknowledge(raised(), "  ", "", at(0))

    assert refused.value.problems[0].field == "/by"


def test_acknowledging_what_has_returned_ends_it() -> None:
    returned, _ = step(raised(), finding(Presence.ABSENT, clear_after_s=0.0), at(70))

    state, changes = acknowledge(returned, "Ana", "", at(80))

    assert state.core is CoreState.NORMAL
    assert [(c.before, c.after) for c in changes] == [(CoreState.RETURNED_UNACKNOWLEDGED, CoreState.NORMAL)]


@pytest.mark.parametrize("for_s", [0, -1, 59, 86_401, 1e12, math.inf, math.nan])
def test_a_shelf_without_a_near_end_is_refused(for_s: float) -> None:
    with pytest.raises(InvalidInputError) as refused:
        shelve(raised(), for_s, "I know", "Ana", at(0))

    assert refused.value.problems[0].field == "/for_s"
    assert "between a minute and a day" in refused.value.problems[0].remedy


@pytest.mark.parametrize("for_s", [60, 86_400])
def test_a_shelf_lasts_as_long_as_it_was_asked_to(for_s: float) -> None:
    state, changes = shelve(raised(), for_s, "I know", "Ana", at(0))

    assert state.shelved_until == at(for_s)
    assert state.is_shelved(at(for_s - 1))
    assert not state.is_shelved(at(for_s))
    assert changes[0].cause.startswith("Shelved by Ana until 2026-11-2")
    assert changes[0].before is changes[0].after


def test_a_shelf_needs_a_reason() -> None:
    with pytest.raises(InvalidInputError) as refused:
        shelve(raised(), 600, "", "Ana", at(0))

    assert refused.value.problems[0].field == "/reason"


def test_shelving_again_sets_a_new_end() -> None:
    state, _ = shelve(raised(), 600, "I know", "Ana", at(0))

    state, _ = shelve(state, 600, "I still know", "Ana", at(500))

    assert (state.shelved_until, state.shelve_reason) == (at(1100), "I still know")


def test_a_person_takes_it_off_the_shelf() -> None:
    state, _ = shelve(raised(), 600, "I know", "Ana", at(0))

    state, changes = unshelve(state, "Ben", at(10))

    assert (state.shelved_until, state.shelve_reason) == (None, None)
    assert changes[0].cause == "Taken off the shelf by Ben"


def test_suppressing_for_the_same_cause_again_changes_only_its_end() -> None:
    state, _ = suppress(AlarmState(WARM), "the stage changes", at(0))

    state, changes = suppress(state, "the stage changes", at(10), until=at(600))

    assert (state.suppressed_until, changes) == (at(600), ())


def test_two_causes_do_not_overwrite_each_other() -> None:
    state, _ = suppress(AlarmState(WARM), "the stage changes", at(0))

    with pytest.raises(ConflictError, match="already suppressed: the stage changes"):
        suppress(state, "the probe is dead", at(10))


def test_the_end_of_a_suppression_says_of_what_and_why() -> None:
    state, _ = suppress(AlarmState(WARM), "the probe is dead", at(0))

    _, changes = unsuppress(state, "the probe was replaced", at(10))

    assert changes[0].cause == "No longer suppressed (the probe is dead): the probe was replaced"


def test_out_of_service_and_back_say_who() -> None:
    out, gone = take_out_of_service(raised(), "new probe", "Ana", at(0))
    back, come = return_to_service(out, "Ben", at(10))

    assert (out.out_of_service, back.out_of_service) == (True, False)
    assert [c.cause for c in (*gone, *come)] == ["Out of service by Ana: new probe", "Back in service by Ben"]


def test_what_is_not_so_cannot_be_undone() -> None:
    fresh = AlarmState(WARM)
    out, _ = take_out_of_service(fresh, "new probe", "Ana", at(0))

    with pytest.raises(ConflictError, match="not shelved"):
        unshelve(fresh, "Ana", at(0))
    with pytest.raises(ConflictError, match="not suppressed"):
        unsuppress(fresh, "it is over", at(0))
    with pytest.raises(ConflictError, match="in service already"):
        return_to_service(fresh, "Ana", at(0))
    with pytest.raises(ConflictError, match="already out of service"):
        take_out_of_service(out, "new probe", "Ana", at(0))
