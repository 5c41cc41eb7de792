"""The two ways temperatures come in: a source that is swept, and one that accepts what arrives."""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Protocol, runtime_checkable

from sensors.sample import ProbeFault, ProbeId


@dataclass(frozen=True, slots=True)
class RawValue:
    """One value as the part gave it, not yet believed.

    raw_c in degrees Celsius; read_s is how long the read took, in seconds; scratchpad holds the
    nine bytes of a DS18B20 when the source has them.
    """

    probe_id: ProbeId
    at: datetime
    raw_c: float
    read_s: float = 0.0
    scratchpad: bytes | None = None


@dataclass(frozen=True, slots=True)
class Sweep:
    """What one sweep of a source brought.

    present: the probes the source sees now. values and faults: at most one per probe.
    trouble: a sentence when the source as a whole is not well (its folder is missing, say), else "".
    notes: sentences worth showing that are no fault (no bulk conversion on this bus, say).
    """

    present: frozenset[ProbeId]
    values: tuple[RawValue, ...]
    faults: tuple[ProbeFault, ...]
    took_s: float
    trouble: str = ""
    notes: tuple[str, ...] = field(default=())


class SweptSource(Protocol):
    """A source that is asked for its values."""

    @property
    def name(self) -> str:
        """``onewire`` or ``simulated``: the `source` of its probes."""
        ...

    def sweep(self, at: datetime) -> Sweep:
        """Read every probe once. Never raises for a bad probe, and always comes back in bounded time.

        at: the wall time (aware UTC) that the values get.
        """
        ...

    def close(self) -> None:
        """Give back what the source holds; a read still stuck in the kernel is abandoned."""
        ...


@runtime_checkable
class TunableSource(Protocol):
    """A source whose parts convert at a resolution that can be chosen."""

    def adjustable(self, probe: ProbeId) -> bool:
        """Whether this probe's resolution can be chosen at all."""
        ...

    def want_resolution(self, probe: ProbeId, bits: int) -> None:
        """Have a probe convert at 9 to 12 bits from now on. ValueError where that cannot be."""
        ...

    def resolution_of(self, probe: ProbeId) -> int | None:
        """The bits its last value was converted with, or None before there is one."""
        ...
