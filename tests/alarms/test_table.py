"""The transitions of ANSI/ISA-18.2 and IEC 62682, from memory, as far as nothing latches."""

from dataclasses import replace

import pytest

from service.alarms.lifecycle import TABLE, Event, acknowledge, step, table_as_markdown
from service.alarms.model import AlarmState, CoreState, Presence, Transition
from service.alarms.table import CORE
from tests.alarms.making import WARM, at, finding, raised

NORMAL, UNACK = CoreState.NORMAL, CoreState.UNACKNOWLEDGED
ACK, RTN = CoreState.ACKNOWLEDGED, CoreState.RETURNED_UNACKNOWLEDGED

PROCESS, RETURN, HAND = "alarm condition", "return to normal", "acknowledge"
ISA_18_2 = [
    (NORMAL, PROCESS, UNACK),
    (NORMAL, RETURN, NORMAL),
    (UNACK, PROCESS, UNACK),
    (UNACK, RETURN, RTN),
    (UNACK, HAND, ACK),
    (ACK, PROCESS, ACK),
    (ACK, RETURN, NORMAL),
    (RTN, PROCESS, UNACK),
    (RTN, RETURN, RTN),
    (RTN, HAND, NORMAL),
]


def in_state(core: CoreState) -> AlarmState:
    if core is NORMAL:
        return AlarmState(WARM)
    return replace(raised(), core=core)


def happen(state: AlarmState, what: str) -> tuple[AlarmState, tuple[Transition, ...]]:
    if what == HAND:
        return acknowledge(state, "Ana", "", at(10))
    presence = Presence.PRESENT if what == PROCESS else Presence.ABSENT
    return step(state, finding(presence, after_s=0.0, clear_after_s=0.0), at(10))


@pytest.mark.parametrize(("before", "what", "after"), ISA_18_2)
def test_the_core_states_follow_isa_18_2(before: CoreState, what: str, after: CoreState) -> None:
    state, changes = happen(in_state(before), what)

    assert state.core is after
    assert [(c.before, c.after) for c in changes] == ([] if before is after else [(before, after)])


def test_the_table_holds_just_the_changes_of_core_state_that_the_standard_has() -> None:
    ours = {(row.before, row.after) for row in TABLE if row.before is not row.after}

    assert ours == {(before, after) for before, _, after in ISA_18_2 if before is not after}


def test_from_one_state_one_event_leads_to_one_state() -> None:
    keys = [(row.before, row.event) for row in TABLE]

    assert len(keys) == len(set(keys))


def test_the_table_prints_every_row_of_itself() -> None:
    printed = table_as_markdown()

    for row in CORE:
        assert f"| {row.before} | {row.event} | {row.after} | {row.when} |" in printed
    assert {e for e in Event if f"| {e} |" in printed} == set(Event)
