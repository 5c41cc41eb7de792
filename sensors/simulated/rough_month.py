"""Thirty days on a bad cable: for trying that nothing false comes of it."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta

from sensors.bus import Sweep
from sensors.sample import FaultKind
from sensors.simulated.demo import PITCHED_BEFORE, demo_scenario
from sensors.simulated.faults import Fault
from sensors.simulated.make import source_of
from sensors.simulated.scenario import Scenario

DAYS = 30

BAD_CABLE = (
    Fault(FaultKind.CRC, share_of_reads=0.01),
    Fault(FaultKind.POWER_ON, share_of_reads=0.001),
    Fault(FaultKind.VANISHED, times_a_day=2.0, lasts_s=180.0),
    Fault(FaultKind.EMPTY, times_a_day=3.0, lasts_s=30.0),
)
"""One read in a hundred with a wrong checksum, one in a thousand a power-on value, some dropouts a day."""


def rough_scenario(starts: datetime) -> Scenario:
    """The demonstration's beer for a month, on a bad cable. starts: aware UTC."""
    return replace(
        demo_scenario(starts + PITCHED_BEFORE), name="Thirty days on a bad cable", faults=BAD_CABLE
    )


def rough_month(starts: datetime, seed: int, every_s: float = 10.0) -> Iterator[Sweep]:
    """The sweeps of thirty days, in turn. A temperature in them that is wrong is one of the faults above."""
    scenario = rough_scenario(starts)
    source = source_of(scenario, seed)
    return source.sweeps(scenario.starts, scenario.starts + timedelta(days=DAYS), every_s)
