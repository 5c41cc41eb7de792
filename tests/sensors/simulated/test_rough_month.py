"""Thirty days on a bad cable: as bad as promised, and the same for the same seed."""

from collections import Counter
from datetime import timedelta
from itertools import islice

import pytest

from sensors.sample import FaultKind
from sensors.scratchpad import is_intact, is_power_on
from sensors.simulated.make import twin_of
from sensors.simulated.rough_month import rough_month, rough_scenario
from sensors.simulated.source import BUCKET
from tests.sensors.simulated.twins import START

EVERY_S = 90.0
READS = 2 * 30 * 960


def test_a_month_has_its_share_of_every_fault_and_all_else_is_true() -> None:
    twin = twin_of(rough_scenario(START), seed=4)
    found: Counter[str] = Counter()

    for sweep in rough_month(START, seed=4, every_s=EVERY_S):
        found["sweeps"] += 1
        found["absent"] += 2 - len(sweep.present)
        found.update(fault.kind for fault in sweep.faults)
        for value in sweep.values:
            assert value.scratchpad is not None
            if not is_intact(value.scratchpad):
                found["crc"] += 1
            elif is_power_on(value.scratchpad):
                found["power-on"] += 1
            elif value.probe_id == BUCKET and found["sweeps"] < 4 * 960:
                assert value.raw_c == pytest.approx(twin.at(value.at).probe_c, abs=0.1)

    assert found["sweeps"] == 30 * 960
    assert found["crc"] == pytest.approx(READS * 0.01, rel=0.15)
    assert found["power-on"] == pytest.approx(READS * 0.001, rel=0.5)
    assert found["absent"] == pytest.approx(2 * 30 * 2 * 180 / EVERY_S, rel=0.35)
    assert found[FaultKind.EMPTY] == pytest.approx(2 * 30 * 3 * 30 / EVERY_S, rel=0.5)


def test_the_same_seed_is_the_same_month() -> None:
    one, again, other = (list(islice(rough_month(START, seed=s), 2000)) for s in (4, 4, 5))

    assert one == again
    assert one != other
    assert one[1].values[0].at - one[0].values[0].at == timedelta(seconds=10)
