"""What a temperature source yields: a believed sample, or a fault. Nothing here knows of beer."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import NewType

ProbeId = NewType("ProbeId", str)
"""Short readable id of a probe; for a probe on a 1-wire bus its ROM id (``28-00000a1b2c3d``)."""


class FaultKind(StrEnum):
    """How a probe can lie or fail. Each has a sentence and a remedy in `sensors.faults`."""

    CRC = "crc"
    POWER_ON = "power-on"
    ZEROS = "zeros"
    DISCONNECTED = "disconnected"
    EMPTY = "empty"
    CUT_SHORT = "cut-short"
    CONTRADICTS = "contradicts"
    VANISHED = "vanished"
    LINGERS = "lingers"
    FIRST_VALUE = "first-value"
    OUT_OF_RANGE = "out-of-range"
    JUMP = "jump"
    FROZEN = "frozen"
    SLOW = "slow"
    NO_ANSWER = "no-answer"
    WHOLE_BUS = "whole-bus"
    UNREADABLE = "unreadable"


@dataclass(frozen=True, slots=True)
class Sample:
    """One believed temperature at one time.

    at: aware UTC. raw_c: as the part gave it. temp_c: calibrated. Both in degrees Celsius.
    """

    probe_id: ProbeId
    at: datetime
    raw_c: float
    temp_c: float


@dataclass(frozen=True, slots=True)
class ProbeFault:
    """A value that was not believed, or that never came; it is counted and never silently dropped."""

    probe_id: ProbeId
    at: datetime
    kind: FaultKind
    detail: str = ""
