"""A sweep that knows which probes share a bus."""

from dataclasses import dataclass

from sensors.bus import Sweep
from sensors.sample import ProbeId


@dataclass(frozen=True, slots=True)
class BusSweep(Sweep):
    """A sweep of wired buses. buses: the probes of each, so that one cause for all of them shows."""

    buses: tuple[frozenset[ProbeId], ...] = ()


def buses_of(sweep: Sweep) -> tuple[frozenset[ProbeId], ...]:
    """The probes that hang on one wire together; a source that does not say has one wire for all."""
    return sweep.buses if isinstance(sweep, BusSweep) else (sweep.present,)
