"""The twin's faults through the screening: each is told by its kind, and none becomes a temperature."""

from collections import Counter, defaultdict
from datetime import datetime, timedelta
from itertools import islice

import pytest

from sensors.sample import FaultKind
from sensors.screening import Screen
from sensors.simulated.make import source_of, twin_of
from sensors.simulated.reading import load_scenario
from sensors.simulated.rough_month import rough_month, rough_scenario
from sensors.simulated.source import BUCKET, CUPBOARD
from tests.sensors.simulated.twins import SCENARIOS, START

NEAR_C = 0.15
"""Half a step, and the flicker of the part."""


@pytest.fixture(scope="module")
def told() -> dict[FaultKind, list[datetime]]:
    """When the screening found what, in two days with every fault; a wrong value believed fails here."""
    scenario = load_scenario(SCENARIOS / "every-fault.json")
    twin, screen = twin_of(scenario, seed=1), Screen()
    found: dict[FaultKind, list[datetime]] = defaultdict(list)
    for sweep in source_of(scenario, seed=1).sweeps(START, START + timedelta(hours=42), every_s=10.0):
        at = sweep.values[0].at
        believed, faults = screen.sift(sweep, at)
        for fault in faults:
            found[fault.kind].append(fault.at)
        truth = twin.at(at)
        frozen = START + timedelta(hours=20) <= at < START + timedelta(hours=40)
        for item in believed:
            true_c = truth.probe_c if item.value.probe_id == BUCKET else truth.room_probe_c
            assert abs(item.value.raw_c - true_c) < NEAR_C or (frozen and item.value.probe_id == BUCKET)
    return found


@pytest.mark.parametrize(
    "kind, begins_h",
    [(fault.kind, fault.at_h) for fault in load_scenario(SCENARIOS / "every-fault.json").faults],
)
def test_each_fault_is_told_by_its_kind_when_it_begins(
    kind: FaultKind, begins_h: float, told: dict[FaultKind, list[datetime]]
) -> None:
    until_told = timedelta(hours=12 if kind is FaultKind.FROZEN else 0, seconds=80)
    begins = START + timedelta(hours=begins_h)

    assert any(begins <= at <= begins + until_told for at in told[kind])


def test_nothing_is_told_without_a_cause(told: dict[FaultKind, list[datetime]]) -> None:
    once = {kind: len(times) for kind, times in told.items() if kind is not FaultKind.FROZEN}

    # Twelve sweeps of both probes for the bus, and a first value after each of three absences.
    assert once[FaultKind.WHOLE_BUS] == 12
    assert once[FaultKind.FIRST_VALUE] == 3
    assert all(count <= 12 for count in once.values())


def test_no_wrong_value_is_believed_on_a_bad_cable() -> None:
    twin, screen = twin_of(rough_scenario(START), seed=8), Screen()
    counted: Counter[str] = Counter()

    for number, sweep in enumerate(islice(rough_month(START, seed=8, every_s=30.0), 3 * 2880)):
        at = START + timedelta(seconds=30 * number)
        truth = twin.at(at)
        believed, faults = screen.sift(sweep, at)
        counted.update(fault.kind for fault in faults)
        counted["believed"] += len(believed)
        for item in believed:
            true_c = {BUCKET: truth.probe_c, CUPBOARD: truth.room_probe_c}[item.value.probe_id]
            assert abs(item.value.raw_c - true_c) < NEAR_C

    assert counted[FaultKind.CRC] > 100
    assert counted["believed"] > 0.97 * 2 * 3 * 2880
    assert counted[FaultKind.JUMP] == 0
