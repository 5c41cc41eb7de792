"""How probes fail on demand: at a time, so many times a day, or in a share of the reads."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache
from math import exp
from typing import Annotated

from sensors.sample import FaultKind, ProbeId
from sensors.simulated import chance
from sensors.simulated.limits import Between, Hours, Share

RETURN_S = 10.0
"""How long a probe that came back shows a wrong first value: one sweep of ten seconds."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One way to fail, for one probe or (null) for all of them, each at its own times when they are drawn.

    Exactly one of at_h (hours after the start), times_a_day and share_of_reads says when; the first two last
    `lasts_s`. by_c: how far a jump, a contradiction or a first value is off.
    """

    kind: FaultKind
    probe: str | None = None
    at_h: Hours | None = None
    times_a_day: Annotated[float, Between(0.0, 500.0, "times a day")] | None = None
    share_of_reads: Share | None = None
    lasts_s: Annotated[float, Between(1.0, 400 * 86400.0, "s")] = 10.0
    by_c: Annotated[float, Between(-100.0, 100.0, "C")] = 12.0


@dataclass(frozen=True, slots=True)
class Spell:
    """A fault that acts at some time, and since when."""

    fault: Fault
    since: datetime


class FaultScript:
    """The faults of one probe; what acts at a time is a pure function of the time."""

    def __init__(self, faults: tuple[Fault, ...], probe: ProbeId, starts: datetime, seed: int) -> None:
        self._starts = starts
        self._faults = tuple(
            (fault, chance.stream(seed, f"fault/{number}/{_struck_together(fault, probe)}"))
            for number, fault in enumerate(faults)
            if fault.probe in (None, probe)
        )

    def acting(self, at: datetime, tick: int) -> Spell | None:
        """The fault that acts at a time, the first in the script when there are several."""
        for fault, key in self._faults:
            if fault.share_of_reads is not None:
                if chance.unit(key, tick) < fault.share_of_reads:
                    return Spell(fault, at)
                continue
            since = self._since(fault, key, (at - self._starts).total_seconds())
            if since is not None:
                return Spell(fault, self._starts + timedelta(seconds=since))
        return None

    @staticmethod
    def _since(fault: Fault, key: int, elapsed_s: float) -> float | None:
        """When the spell that covers this time began, in seconds after the start."""
        length_s = fault.lasts_s + (RETURN_S if fault.kind is FaultKind.FIRST_VALUE else 0.0)
        if fault.at_h is not None:
            begins = fault.at_h * 3600.0
            return begins if begins <= elapsed_s < begins + length_s else None
        if fault.times_a_day is None:
            return None
        today = int(elapsed_s // 86400.0)
        earliest = int((elapsed_s - length_s) // 86400.0)
        for day in range(today, earliest - 1, -1):
            for begins in _beginnings(key, day, fault.times_a_day):
                if begins <= elapsed_s < begins + length_s:
                    return begins
        return None


def _struck_together(fault: Fault, probe: ProbeId) -> str:
    """What a draw is for: each probe fails at its own times, and only a whole bus at one time."""
    return "bus" if fault.kind is FaultKind.WHOLE_BUS else probe


@lru_cache(maxsize=4096)
def _beginnings(key: int, day: int, times_a_day: float) -> tuple[float, ...]:
    """When the spells of one day begin, in seconds after the start: a Poisson process."""
    if day < 0:
        return ()
    first = day * 2048
    count, product = 0, chance.unit(key, first)
    while product > exp(-times_a_day) and count < 2000:
        count += 1
        product *= chance.unit(key, first + count)
    return tuple((day + chance.unit(key ^ 1, first + n)) * 86400.0 for n in range(count))
