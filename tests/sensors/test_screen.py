"""A whole source's sweeps through the screen."""

from datetime import UTC, datetime, timedelta

import pytest

from sensors.bus import RawValue, Sweep
from sensors.buses import BusSweep
from sensors.sample import FaultKind, ProbeFault, ProbeId
from sensors.screening import Believed, Screen

A, B, C = ProbeId("28-00000000000a"), ProbeId("28-00000000000b"), ProbeId("28-00000000000c")
START = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


@pytest.fixture
def screen() -> Screen:
    return Screen()


def at(step: int) -> datetime:
    return START + timedelta(seconds=10 * step)


def sweep(step: int, temps: dict[ProbeId, float], **faulty: FaultKind) -> Sweep:
    faults = tuple(ProbeFault(ProbeId(f"28-00000000000{name}"), at(step), k) for name, k in faulty.items())
    values = tuple(RawValue(probe, at(step), temp_c) for probe, temp_c in temps.items())
    return Sweep(frozenset(temps) | {fault.probe_id for fault in faults}, values, faults, 0.8)


def sift(screen: Screen, step: int, one: Sweep) -> dict[ProbeId, float | FaultKind]:
    believed, faults = screen.sift(one, at(step))
    outcome: dict[ProbeId, float | FaultKind] = {one.value.probe_id: one.value.raw_c for one in believed}
    return outcome | {fault.probe_id: fault.kind for fault in faults}


def test_what_is_there_at_the_first_sweep_is_believed(screen: Screen) -> None:
    assert sift(screen, 0, sweep(0, {A: 20.0, B: 18.0})) == {A: 20.0, B: 18.0}


def test_a_probe_that_appears_later_must_speak_twice(screen: Screen) -> None:
    sift(screen, 0, sweep(0, {A: 20.0}))

    assert sift(screen, 1, sweep(1, {A: 20.0, B: 18.0}))[B] is FaultKind.FIRST_VALUE
    assert sift(screen, 2, sweep(2, {A: 20.0, B: 18.0}))[B] == 18.0


def test_a_probe_that_is_missing_has_vanished_and_must_speak_twice_when_it_is_back(screen: Screen) -> None:
    sift(screen, 0, sweep(0, {A: 20.0, B: 18.0}))

    assert sift(screen, 1, sweep(1, {A: 20.0})) == {A: 20.0, B: FaultKind.VANISHED}
    assert sift(screen, 2, sweep(2, {A: 20.0})) == {A: 20.0, B: FaultKind.VANISHED}
    assert sift(screen, 3, sweep(3, {A: 20.0, B: 18.0}))[B] is FaultKind.FIRST_VALUE
    assert sift(screen, 4, sweep(4, {A: 20.0, B: 18.0}))[B] == 18.0


def test_a_probe_that_stays_away_is_counted_for_an_hour(screen: Screen) -> None:
    sift(screen, 0, sweep(0, {A: 20.0, B: 18.0}))

    counted = [B in sift(screen, step, sweep(step, {A: 20.0})) for step in range(1, 400)]

    assert counted == [True] * 360 + [False] * 39


def test_a_probe_that_goes_a_second_time_is_counted_anew(screen: Screen) -> None:
    sift(screen, 0, sweep(0, {A: 20.0, B: 18.0}))
    for step in range(1, 300):
        sift(screen, step, sweep(step, {A: 20.0}))
    sift(screen, 300, sweep(300, {A: 20.0, B: 18.0}))

    counted = [B in sift(screen, step, sweep(step, {A: 20.0})) for step in range(301, 663)]

    assert counted == [True] * 360 + [False] * 2


def test_a_probe_bears_no_witness_against_itself(screen: Screen) -> None:
    sift(screen, -1, sweep(-1, {A: 20.0625}))
    sift(screen, 0, sweep(0, {A: 20.0}))

    seen = [sift(screen, step, sweep(step, {A: 67.0}))[A] for step in range(6, 13 * 360, 6)]

    assert seen[:3] == [FaultKind.JUMP, FaultKind.JUMP, 67.0]
    assert set(seen[2:]) == {67.0}


def test_a_probe_that_was_taken_out_of_use_is_not_missed(screen: Screen) -> None:
    sift(screen, 0, sweep(0, {A: 20.0, B: 18.0}))

    screen.forget(B)

    assert sift(screen, 1, sweep(1, {A: 20.0})) == {A: 20.0}


def test_all_at_once_is_the_bus(screen: Screen) -> None:
    seen = sift(screen, 0, sweep(0, {}, a=FaultKind.CRC, b=FaultKind.NO_ANSWER))

    assert seen == {A: FaultKind.WHOLE_BUS, B: FaultKind.WHOLE_BUS}


def test_all_that_vanish_at_once_are_the_bus_too(screen: Screen) -> None:
    sift(screen, 0, sweep(0, {A: 20.0, B: 18.0}))

    assert sift(screen, 1, sweep(1, {})) == {A: FaultKind.WHOLE_BUS, B: FaultKind.WHOLE_BUS}
    assert sift(screen, 2, sweep(2, {})) == {A: FaultKind.WHOLE_BUS, B: FaultKind.WHOLE_BUS}


def test_lies_found_here_count_for_the_bus_as_well(screen: Screen) -> None:
    assert sift(screen, 0, sweep(0, {A: -127.0, B: -127.0})) == {
        A: FaultKind.WHOLE_BUS,
        B: FaultKind.WHOLE_BUS,
    }


def test_each_bus_is_judged_for_itself(screen: Screen) -> None:
    faults = tuple(ProbeFault(probe, START, FaultKind.CRC) for probe in (A, B, C))
    buses = (frozenset({A, B}), frozenset({C}))

    seen = sift(screen, 0, BusSweep(frozenset({A, B, C}), (), faults, 0.8, buses=buses))

    assert seen == {A: FaultKind.WHOLE_BUS, B: FaultKind.WHOLE_BUS, C: FaultKind.CRC}


def test_a_fast_change_that_turned_out_true_is_marked(screen: Screen) -> None:
    for step, temp_c in enumerate([20.0, 67.0, 67.0]):
        screen.sift(sweep(step, {A: temp_c}), at(step))

    believed, _ = screen.sift(sweep(3, {A: 67.0}), at(3))

    assert believed == (Believed(RawValue(A, at(3), 67.0), fast_change=True),)


def test_other_probes_bear_witness_that_one_is_frozen(screen: Screen) -> None:
    sift(screen, -1, sweep(-1, {A: 19.4375, B: 18.0}))

    seen = [
        sift(screen, step, sweep(step, {A: 19.5, B: 18.0 + step / 1440}))[A]
        for step in range(0, 12 * 360 + 1, 6)
    ]

    assert seen[-2:] == [19.5, FaultKind.FROZEN]


def test_values_that_arrive_by_themselves_face_the_same_rules(screen: Screen) -> None:
    first = screen.sift_one(RawValue(A, at(0), 20.0))
    second = screen.sift_one(RawValue(A, at(1), 60.0))

    assert first == Believed(RawValue(A, at(0), 20.0))
    assert isinstance(second, ProbeFault)
    assert second.kind is FaultKind.JUMP


def test_a_value_that_arrives_late_changes_nothing_that_comes_after(screen: Screen) -> None:
    screen.sift_one(RawValue(A, at(100), 20.0))

    late = screen.sift_one(RawValue(A, at(0), 5.0))
    impossible = screen.sift_one(RawValue(A, at(1), 999.0))
    after = screen.sift_one(RawValue(A, at(101), 20.5))

    assert late == Believed(RawValue(A, at(0), 5.0))
    assert isinstance(impossible, ProbeFault)
    assert after == Believed(RawValue(A, at(101), 20.5))
