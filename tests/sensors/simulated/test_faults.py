"""Faults on demand: each shows as the part or the wire would show it, when it should and only then."""

from collections import Counter
from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise

import pytest

from sensors.bus import RawValue, Sweep
from sensors.buses import buses_of
from sensors.sample import FaultKind, ProbeFault
from sensors.scratchpad import is_intact, is_power_on, is_zeros, temperature_c
from sensors.simulated.faults import Fault, FaultScript
from sensors.simulated.kitchen import Kitchen
from sensors.simulated.make import source_of
from sensors.simulated.probe import register_of, scratchpad_of
from sensors.simulated.reading import load_scenario
from sensors.simulated.source import BUCKET, CUPBOARD, SimulatedSource
from tests.sensors.simulated.twins import SCENARIOS, START, fermenter, lively

EVERY_FAULT = load_scenario(SCENARIOS / "every-fault.json")
AT = {fault.kind: fault.at_h for fault in EVERY_FAULT.faults}


@pytest.fixture(scope="module")
def faulty() -> SimulatedSource:
    return source_of(EVERY_FAULT, seed=1)


@pytest.fixture(scope="module")
def sound() -> SimulatedSource:
    return source_of(replace(EVERY_FAULT, faults=()), seed=1)


def while_acting(kind: FaultKind) -> datetime:
    at_h = AT[kind]
    assert at_h is not None
    return START + timedelta(hours=at_h, seconds=5)


def bucket(sweep: Sweep) -> RawValue | ProbeFault | None:
    results: list[RawValue | ProbeFault] = [*sweep.values, *sweep.faults]
    brought = [result for result in results if result.probe_id == BUCKET]
    assert len(brought) <= 1
    return brought[0] if brought else None


def value(source: SimulatedSource, at: datetime) -> RawValue:
    result = bucket(source.sweep(at))
    assert isinstance(result, RawValue)
    return result


def test_the_script_has_every_kind_of_fault() -> None:
    assert set(AT) == set(FaultKind)


@pytest.mark.parametrize("kind", sorted(set(FaultKind) - {FaultKind.WHOLE_BUS}))
def test_a_fault_of_one_probe_leaves_the_other_and_the_times_around_it_alone(
    kind: FaultKind, faulty: SimulatedSource, sound: SimulatedSource
) -> None:
    at = while_acting(kind)
    long_after = at + timedelta(hours=21 if kind is FaultKind.FROZEN else 0, minutes=5)

    during = faulty.sweep(at)

    assert CUPBOARD in during.present
    assert [v for v in during.values if v.probe_id == CUPBOARD] == [
        v for v in sound.sweep(at).values if v.probe_id == CUPBOARD
    ]
    assert faulty.sweep(at - timedelta(minutes=1)) == sound.sweep(at - timedelta(minutes=1))
    assert faulty.sweep(long_after) == sound.sweep(long_after)


@pytest.mark.parametrize(
    "kind",
    [
        FaultKind.EMPTY,
        FaultKind.CUT_SHORT,
        FaultKind.LINGERS,
        FaultKind.UNREADABLE,
        FaultKind.NO_ANSWER,
    ],
)
def test_what_no_value_can_show_comes_as_a_fault_of_its_kind(
    kind: FaultKind, faulty: SimulatedSource
) -> None:
    sweep = faulty.sweep(while_acting(kind))

    fault = bucket(sweep)

    assert isinstance(fault, ProbeFault)
    assert fault.kind is kind
    assert fault.detail
    assert BUCKET in sweep.present


def test_a_wrong_checksum_goes_with_a_wrong_value(faulty: SimulatedSource, sound: SimulatedSource) -> None:
    at = while_acting(FaultKind.CRC)

    told = value(faulty, at)

    assert told.scratchpad is not None
    assert not is_intact(told.scratchpad)
    assert abs(told.raw_c - value(sound, at).raw_c) == 8.0


def test_the_power_on_value_has_its_pattern_and_a_right_checksum(faulty: SimulatedSource) -> None:
    told = value(faulty, while_acting(FaultKind.POWER_ON))

    assert told.raw_c == 85.0
    assert told.scratchpad is not None
    assert is_intact(told.scratchpad)
    assert is_power_on(told.scratchpad)


def test_a_true_85_degrees_has_not_the_power_on_pattern() -> None:
    assert not is_power_on(scratchpad_of(register_of(85.0)))


def test_a_dead_wire_gives_nine_zeros(faulty: SimulatedSource) -> None:
    told = value(faulty, while_acting(FaultKind.ZEROS))

    assert told.raw_c == 0.0
    assert told.scratchpad is not None
    assert is_zeros(told.scratchpad)


def test_a_whole_bus_fails_at_once_and_is_told_as_one_bus(faulty: SimulatedSource) -> None:
    sweep = faulty.sweep(while_acting(FaultKind.WHOLE_BUS))

    assert [told.scratchpad for told in sweep.values] == [bytes(9), bytes(9)]
    assert buses_of(sweep) == (frozenset({BUCKET, CUPBOARD}),)


def test_a_disconnected_probe_gives_minus_127(faulty: SimulatedSource) -> None:
    assert value(faulty, while_acting(FaultKind.DISCONNECTED)).raw_c == -127.0


def test_a_value_out_of_range_has_bytes_that_agree(faulty: SimulatedSource) -> None:
    told = value(faulty, while_acting(FaultKind.OUT_OF_RANGE))

    assert told.raw_c > 125.0
    assert told.scratchpad is not None
    assert is_intact(told.scratchpad)
    assert temperature_c(told.scratchpad) == told.raw_c


def test_a_contradiction_has_sound_bytes_that_say_something_else(faulty: SimulatedSource) -> None:
    told = value(faulty, while_acting(FaultKind.CONTRADICTS))

    assert told.scratchpad is not None
    assert is_intact(told.scratchpad)
    assert temperature_c(told.scratchpad) == told.raw_c - 12.0


def test_a_vanished_probe_is_not_there(faulty: SimulatedSource) -> None:
    sweep = faulty.sweep(while_acting(FaultKind.VANISHED))

    assert sweep.present == {CUPBOARD}
    assert bucket(sweep) is None


def test_a_probe_that_comes_back_shows_a_wrong_first_value_and_then_right_ones(
    faulty: SimulatedSource, sound: SimulatedSource
) -> None:
    away = while_acting(FaultKind.FIRST_VALUE)
    first, later = away + timedelta(seconds=60), away + timedelta(seconds=70)

    assert BUCKET not in faulty.sweep(away).present
    assert value(faulty, first).raw_c == value(sound, first).raw_c + 12.0
    assert value(faulty, later) == value(sound, later)


def test_a_jump_is_off_by_its_degrees(faulty: SimulatedSource, sound: SimulatedSource) -> None:
    at = while_acting(FaultKind.JUMP)

    assert value(faulty, at).raw_c == value(sound, at).raw_c + 6.0


def test_a_frozen_probe_keeps_its_value_to_the_last_bit_while_the_other_moves(
    faulty: SimulatedSource,
) -> None:
    begins = while_acting(FaultKind.FROZEN)

    sweeps = [faulty.sweep(begins + timedelta(minutes=30 * n)) for n in range(24)]

    shown = [{told.raw_c for sweep in sweeps for told in sweep.values if told.probe_id == probe}
             for probe in (BUCKET, CUPBOARD)]  # fmt: skip
    assert len(shown[0]) == 1
    assert len(shown[1]) > 5


def test_slow_reads_and_reads_given_up_take_their_time(faulty: SimulatedSource) -> None:
    slow, lost = (faulty.sweep(while_acting(kind)) for kind in (FaultKind.SLOW, FaultKind.NO_ANSWER))

    assert value(faulty, while_acting(FaultKind.SLOW)).read_s == slow.took_s == 4.5
    assert lost.took_s == 5.0


def test_a_jump_out_of_the_parts_range_goes_the_other_way() -> None:
    faults = (Fault(FaultKind.JUMP, at_h=1.0, by_c=-90.0),)
    source = SimulatedSource(Kitchen(lively(), 1), faults=faults)

    told = value(source, START + timedelta(hours=1))

    assert 100.0 < told.raw_c < 125.0


def test_a_share_of_reads_fails_about_that_often_at_each_probes_own_times() -> None:
    faults = (Fault(FaultKind.EMPTY, share_of_reads=0.1),)
    source = SimulatedSource(Kitchen(lively(), 1), seed=5, faults=faults)

    failed = Counter(
        tuple(sorted(fault.probe_id for fault in sweep.faults))
        for sweep in source.sweeps(START, START + timedelta(hours=10), every_s=10.0)
    )

    assert failed[(BUCKET,)] == pytest.approx(3600 * 0.09, rel=0.25)
    assert failed[(CUPBOARD,)] == pytest.approx(3600 * 0.09, rel=0.25)
    assert failed[(BUCKET, CUPBOARD)] == pytest.approx(3600 * 0.01, rel=0.6)


def test_so_many_times_a_day_is_that_often_and_lasts_as_long_as_told() -> None:
    faults = (Fault(FaultKind.VANISHED, probe=BUCKET, times_a_day=6.0, lasts_s=900.0),)
    source = SimulatedSource(Kitchen(lively(), 1), seed=5, faults=faults)

    away = [
        BUCKET not in sweep.present
        for sweep in source.sweeps(START, START + timedelta(days=10), every_s=180.0)
    ]

    assert sum(gone and not before for before, gone in pairwise(away)) == pytest.approx(60, abs=25)
    assert sum(away) / len(away) == pytest.approx(6 * 900 / 86400, rel=0.35)


def test_a_whole_bus_fails_for_all_probes_at_the_same_times() -> None:
    faults = (Fault(FaultKind.WHOLE_BUS, times_a_day=24.0, lasts_s=600.0),)
    source = SimulatedSource(Kitchen(lively(), 1), seed=5, faults=faults)

    zeros = [
        sum(told.scratchpad == bytes(9) for told in sweep.values)
        for sweep in source.sweeps(START, START + timedelta(days=2), every_s=120.0)
    ]

    assert set(zeros) == {0, 2}


def test_a_spell_goes_on_past_midnight() -> None:
    # Spells of half a day, begun once a day at random, cover 1 - exp(-1/2) of the time (Poisson process).
    script = FaultScript((Fault(FaultKind.EMPTY, times_a_day=1.0, lasts_s=43200.0),), BUCKET, START, seed=3)

    acting = [script.acting(START + timedelta(hours=hour), 0) is not None for hour in range(24, 24 * 400)]

    assert sum(acting) / len(acting) == pytest.approx(0.393, abs=0.04)


def test_faults_do_not_depend_on_the_order_of_questions() -> None:
    faults = (
        Fault(FaultKind.POWER_ON, share_of_reads=0.3),
        Fault(FaultKind.VANISHED, times_a_day=100.0, lasts_s=120.0),
    )
    times = [START + timedelta(minutes=7 * n) for n in range(300)]
    one, other = (SimulatedSource(fermenter("cupboard"), seed=3, faults=faults) for _ in range(2))

    forwards, backwards = [one.sweep(at) for at in times], [other.sweep(at) for at in reversed(times)]

    assert forwards == backwards[::-1]
    assert any(not sweep.present for sweep in forwards)
