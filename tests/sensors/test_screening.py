import math
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sensors.bus import RawValue
from sensors.sample import FaultKind, ProbeFault, ProbeId
from sensors.scratchpad import is_intact, temperature_c
from sensors.screening import Believed, ScreeningState, Verdict, screen
from tests.emulated.part import count, crc8, scratchpad

A, ROOM = ProbeId("28-00000000000a"), ProbeId("28-0000000000ff")
START = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def wired(temp_c: float, after_s: float = 0.0, read_s: float = 0.01, nine: bytes | None = None) -> RawValue:
    nine = scratchpad(count(temp_c)) if nine is None else nine
    return RawValue(A, START + timedelta(seconds=after_s), temp_c, read_s, nine)


def pushed(temp_c: float, after_s: float = 0.0) -> RawValue:
    return RawValue(A, START + timedelta(seconds=after_s), temp_c)


def run(*seen: RawValue | ProbeFault, state: ScreeningState | None = None) -> list[Verdict]:
    state = state or ScreeningState()
    verdicts = []
    for one in seen:
        state, verdict = screen(state, one)
        verdicts.append(verdict)
    return verdicts


def told(verdicts: list[Verdict]) -> list[float | FaultKind]:
    """What was believed, in C, or the kind of the fault."""
    return [one.value.raw_c if isinstance(one, Believed) else one.kind for one in verdicts]


def test_a_good_value_is_believed_at_once_when_the_program_starts() -> None:
    assert run(wired(20.0)) == [Believed(wired(20.0))]


@pytest.mark.parametrize(
    "value, kind",
    [
        (wired(0.0, nine=bytes(9)), FaultKind.ZEROS),
        (wired(20.0, nine=b"\xff" * 9), FaultKind.CRC),
        (wired(20.0, nine=scratchpad(320)[:8] + b"\x00"), FaultKind.CRC),
        (wired(20.0, nine=b"\x40"), FaultKind.CRC),
        (wired(85.0, nine=scratchpad(0x0550, reserved=0x0C)), FaultKind.POWER_ON),
        (wired(127.9375, nine=scratchpad(0x07FF, reserved=0x0C)), FaultKind.POWER_ON),
        (wired(20.0, nine=scratchpad(count(21.0))), FaultKind.CONTRADICTS),
        (wired(20.01, nine=scratchpad(count(20.0))), FaultKind.CONTRADICTS),
        (wired(-127.0), FaultKind.DISCONNECTED),
        (pushed(-127.0), FaultKind.DISCONNECTED),
        (wired(127.9375), FaultKind.OUT_OF_RANGE),
        (pushed(125.1), FaultKind.OUT_OF_RANGE),
        (pushed(-55.1), FaultKind.OUT_OF_RANGE),
        (pushed(math.nan), FaultKind.OUT_OF_RANGE),
        (pushed(math.inf), FaultKind.OUT_OF_RANGE),
        (pushed(85.0), FaultKind.POWER_ON),
        (wired(20.0, read_s=1.6), FaultKind.SLOW),
    ],
)
def test_a_lie_is_told_by_its_kind_and_changes_nothing(value: RawValue, kind: FaultKind) -> None:
    state, verdict = screen(ScreeningState(), value)

    assert isinstance(verdict, ProbeFault)
    assert verdict.kind is kind
    assert verdict.detail
    assert verdict.probe_id == A
    assert verdict.at == value.at
    assert state == ScreeningState()


@pytest.mark.parametrize("temp_c", [-55.0, 125.0])
def test_the_ends_of_the_parts_range_are_believed(temp_c: float) -> None:
    assert told(run(wired(temp_c))) == [temp_c]


@pytest.mark.parametrize("read_s", [0.8, 1.5])
def test_a_read_of_up_to_two_conversions_is_not_slow(read_s: float) -> None:
    assert told(run(wired(20.0, read_s=read_s))) == [20.0]


def test_85_degrees_may_be_reached_by_the_longest_step_allowed() -> None:
    assert told(run(wired(80.0), wired(85.0, 10))) == [80.0, 85.0]


def test_a_fault_of_the_source_passes_through() -> None:
    fault = ProbeFault(A, START, FaultKind.CRC, "noise")

    assert run(fault) == [fault]


def test_the_way_through_85_degrees_on_the_stove_is_believed() -> None:
    climb = [wired(80.0 + step * 0.625, step * 10.0) for step in range(17)]

    verdicts = run(*climb)

    assert 85.0 in told(verdicts)
    assert all(isinstance(one, Believed) and not one.fast_change for one in verdicts)


def test_a_wort_held_at_85_degrees_is_believed_as_long_as_it_lasts() -> None:
    assert (
        told(run(wired(84.9375), *(wired(85.0, step * 10.0) for step in range(1, 60))))
        == [84.9375] + [85.0] * 59
    )


def test_a_program_that_starts_on_a_wort_of_85_degrees_believes_genuine_bytes() -> None:
    assert told(run(wired(85.0))) == [85.0]


@pytest.mark.parametrize("value_of", [wired, pushed])
def test_exactly_85_degrees_out_of_the_blue_is_not_made_true_by_repeating(value_of) -> None:  # type: ignore[no-untyped-def]
    seen = [value_of(20.0), *(value_of(85.0, 10.0 * step) for step in range(1, 8)), value_of(20.0, 80.0)]

    assert told(run(*seen)) == [20.0] + [FaultKind.POWER_ON] * 7 + [20.0]


@pytest.mark.parametrize(
    "to_c, after_s, believed",
    [(23.0, 0, True), (23.0625, 0, False), (25.0, 10, True), (25.0625, 10, False), (60.0, 1e6, True)],
)
def test_a_step_is_allowed_by_the_time_it_had(to_c: float, after_s: float, believed: bool) -> None:
    verdict = run(wired(20.0), wired(to_c, after_s))[1]

    assert isinstance(verdict, Believed) is believed


def test_no_time_is_long_enough_for_a_jump_of_more_than_forty_degrees() -> None:
    assert told(run(wired(20.0), wired(60.0625, 1e6))) == [20.0, FaultKind.JUMP]


def test_a_jump_is_a_fault_until_three_in_a_row_agree_and_is_then_marked() -> None:
    verdicts = run(wired(20.0), wired(67.0, 10), wired(67.25, 20), wired(67.5, 30), wired(67.5, 40))

    assert told(verdicts) == [20.0, FaultKind.JUMP, FaultKind.JUMP, 67.5, 67.5]
    assert [one.fast_change for one in verdicts if isinstance(one, Believed)] == [False, True, False]


def test_a_jump_that_still_moves_is_believed_when_the_last_three_agree() -> None:
    temps = [20.0, 40.0, 55.0, 62.0, 65.0, 66.0, 66.4375, 66.5]

    verdicts = run(*(wired(temp_c, 10.0 * step) for step, temp_c in enumerate(temps)))

    assert told(verdicts) == [20.0, *[FaultKind.JUMP] * 6, 66.5]


def test_three_that_agree_only_in_pairs_do_not_make_a_jump_true() -> None:
    verdicts = run(wired(20.0), wired(60.0, 1), wired(60.4375, 2), wired(60.875, 3))

    assert told(verdicts)[1:] == [FaultKind.JUMP] * 3


def test_what_a_jump_showed_is_forgotten_when_the_old_value_comes_back() -> None:
    verdicts = run(wired(20.0), wired(60.0, 10), wired(60.0, 20), wired(20.0, 30), wired(60.0, 40))

    assert told(verdicts) == [20.0, FaultKind.JUMP, FaultKind.JUMP, 20.0, FaultKind.JUMP]


def test_a_heating_mash_is_believed_after_two_minutes_of_silence() -> None:
    assert told(run(wired(50.0), wired(66.8125, 120))) == [50.0, 66.8125]


@pytest.mark.parametrize("kind", [FaultKind.VANISHED, FaultKind.LINGERS])
def test_the_first_value_after_a_probe_came_back_is_not_believed(kind: FaultKind) -> None:
    verdicts = run(
        wired(20.0), ProbeFault(A, START, kind), wired(20.0, 20), wired(20.0625, 30), wired(20.0, 40)
    )

    assert told(verdicts)[2:] == [FaultKind.FIRST_VALUE, 20.0625, 20.0]


@pytest.mark.parametrize("kind", [FaultKind.CRC, FaultKind.NO_ANSWER, FaultKind.EMPTY])
def test_a_fault_in_between_does_not_make_the_next_value_a_first_one(kind: FaultKind) -> None:
    assert told(run(wired(20.0), ProbeFault(A, START, kind), wired(20.0, 20)))[2] == 20.0


def test_a_power_on_value_does_not_use_up_the_first_value() -> None:
    power_on = wired(85.0, 10, nine=scratchpad(0x0550, reserved=0x0C))

    verdicts = run(ProbeFault(A, START, FaultKind.VANISHED), power_on, wired(20.0, 20), wired(20.0, 30))

    assert told(verdicts)[1:] == [FaultKind.POWER_ON, FaultKind.FIRST_VALUE, 20.0]


def test_a_clock_that_was_set_back_neither_stops_nor_loosens_the_screening() -> None:
    verdicts = run(wired(20.0, 3600), wired(22.0, 0), wired(22.5, 10), wired(40.0, 20))

    assert told(verdicts) == [20.0, 22.0, 22.5, FaultKind.JUMP]


def stand_still(
    hours: float, others: Mapping[float, float], temp_c: float = 19.5, resolution: int = 12
) -> list[Verdict]:
    """One value after the other, a minute apart; others: what the room shows from an hour on."""
    state = ScreeningState()
    nine = scratchpad(count(temp_c, resolution), resolution)
    verdicts = []
    for minute in range(int(hours * 60) + 1):
        room_c = [room for since, room in others.items() if since * 60 <= minute][-1]
        state, verdict = screen(state, wired(temp_c, 60.0 * minute, nine=nine), {ROOM: room_c})
        verdicts.append(verdict)
    return verdicts


def test_a_value_that_never_moves_while_another_does_is_frozen_after_twelve_hours() -> None:
    verdicts = stand_still(12, {0: 18.0, 3: 20.0, 6: 18.0})

    assert told(verdicts)[-2:] == [19.5, FaultKind.FROZEN]
    assert isinstance(verdicts[-1], ProbeFault)
    assert verdicts[-1].detail == "19.5000 C for 12 hours"


def test_a_value_may_stand_still_while_nothing_else_moves_much() -> None:
    assert told(stand_still(30, {0: 18.0, 3: 19.9375}))[-1] == 19.5


@pytest.mark.parametrize("resolution, frozen", [(12, True), (11, True), (10, False), (9, False)])
def test_only_small_steps_say_anything_about_standing_still(resolution: int, frozen: bool) -> None:
    last = stand_still(12, {0: 18.0, 3: 25.0}, resolution=resolution)[-1]

    assert isinstance(last, ProbeFault) is frozen


def test_a_ds18s20_that_was_never_seen_to_move_may_stand_still() -> None:
    state = ScreeningState()
    eight = bytes.fromhex("27 00 4b 46 ff ff 0c 10")
    nine = eight + bytes([crc8(eight)])
    for minute in range(12 * 60 + 1):
        value = RawValue(ProbeId("10-00000000000a"), START + timedelta(minutes=minute), 19.0, 0.01, nine)
        state, verdict = screen(state, value, {ROOM: 18.0 + (minute > 60) * 3})

    assert told([verdict]) == [19.0]


def test_what_others_did_before_the_last_step_does_not_count() -> None:
    state, _ = screen(ScreeningState(), wired(19.5, 0), {ROOM: 18.0})
    state, _ = screen(state, wired(19.5, 60), {ROOM: 21.0})
    for minute in range(2, 12 * 60 + 3):
        state, verdict = screen(state, wired(19.5625, 60.0 * minute), {ROOM: 21.0})

    assert told([verdict]) == [19.5625]


def test_a_probe_that_turns_up_later_bears_witness_as_well() -> None:
    state = ScreeningState()
    for minute in range(12 * 60 + 1):
        others = {} if minute < 60 else {ROOM: 18.0 if minute < 120 else 21.0}
        state, verdict = screen(state, wired(19.5, 60.0 * minute), others)

    assert told([verdict]) == [FaultKind.FROZEN]


def test_another_that_moved_and_came_back_has_moved() -> None:
    assert told(stand_still(12, {0: 18.0, 3: 21.0, 4: 18.0}))[-1] is FaultKind.FROZEN


def test_a_single_step_thaws_a_frozen_value() -> None:
    state = ScreeningState()
    for minute in range(12 * 60 + 1):
        state, frozen = screen(state, wired(19.5, 60.0 * minute), {ROOM: 18.0 + (minute > 60) * 3})

    _, moved = screen(state, wired(19.5625, 60.0 * 721), {ROOM: 21.0})

    assert told([frozen, moved]) == [FaultKind.FROZEN, 19.5625]


def test_a_pushed_value_counts_as_frozen_only_if_it_was_seen_to_move_in_small_steps() -> None:
    outcome = {}
    for first_c in (19.4, 19.0):
        state, _ = screen(ScreeningState(), pushed(first_c, -60), {ROOM: 18.0})
        for minute in range(12 * 60 + 1):
            room_c = 18.0 + (minute > 60) * 3
            state, outcome[first_c] = screen(state, pushed(19.5, 60.0 * minute), {ROOM: room_c})

    assert told([outcome[19.4], outcome[19.0]]) == [FaultKind.FROZEN, 19.5]


raw_values = st.builds(
    RawValue,
    st.just(A),
    st.integers(-600, 600).map(lambda seconds: START + timedelta(seconds=seconds)),
    st.floats(),
    st.floats(0, 10),
    st.none() | st.binary(max_size=12) | st.integers(-900, 2100).map(scratchpad),
)


@given(st.lists(raw_values, max_size=6))
def test_no_values_make_it_raise_or_believe_what_their_bytes_do_not_say(seen: list[RawValue]) -> None:
    for verdict in run(*seen):
        if isinstance(verdict, Believed):
            value = verdict.value
            assert -55.0 <= value.raw_c <= 125.0
            if value.scratchpad is not None:
                assert is_intact(value.scratchpad)
                assert temperature_c(value.scratchpad) == pytest.approx(value.raw_c, abs=0.0011)


near_zero = st.integers(-3, 3)
nine_bytes = near_zero.map(scratchpad) | st.binary(min_size=9, max_size=9)


@given(st.lists(nine_bytes, max_size=4), near_zero)
def test_no_nine_bytes_are_believed_for_another_value_than_they_hold(nines: list[bytes], raw: int) -> None:
    verdicts = run(*(wired(raw / 16, step, nine=nine) for step, nine in enumerate(nines)))

    for nine, verdict in zip(nines, verdicts, strict=True):
        assert isinstance(verdict, Believed) is (nine == scratchpad(raw))
