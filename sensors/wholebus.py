"""One cause for many faults: when all probes on a wire fail at once, the wire is to blame."""

from collections.abc import Iterable
from dataclasses import replace

from sensors.sample import FaultKind, ProbeFault, ProbeId

WIRE_FAULTS = frozenset(
    {
        FaultKind.CRC,
        FaultKind.POWER_ON,
        FaultKind.ZEROS,
        FaultKind.DISCONNECTED,
        FaultKind.VANISHED,
        FaultKind.LINGERS,
        FaultKind.NO_ANSWER,
        FaultKind.UNREADABLE,
    }
)
"""Kinds that a broken, wet or short-circuited wire, or a failing supply, can bring about. An empty file is
none of them: then another program's conversion was under way, which strikes all probes too."""


def whole_bus(faults: Iterable[ProbeFault], buses: Iterable[frozenset[ProbeId]]) -> tuple[ProbeFault, ...]:
    """The faults of one sweep; where every probe of a bus has one, and there are at least two, each
    becomes FaultKind.WHOLE_BUS and keeps its own kind in the detail."""
    faults = tuple(faults)
    failed = {fault.probe_id for fault in faults if fault.kind in WIRE_FAULTS}
    struck = {probe for bus in buses if len(bus) >= 2 and bus <= failed for probe in bus}
    return tuple(_renamed(fault) if fault.probe_id in struck else fault for fault in faults)


def _renamed(fault: ProbeFault) -> ProbeFault:
    detail = f"{fault.kind}: {fault.detail}" if fault.detail else str(fault.kind)
    return replace(fault, kind=FaultKind.WHOLE_BUS, detail=detail)


def with_the_gone(
    now: Iterable[frozenset[ProbeId]], before: Iterable[frozenset[ProbeId]], gone: frozenset[ProbeId]
) -> tuple[frozenset[ProbeId], ...]:
    """The buses as they are now, and on each those probes that were on it before and are gone."""
    buses = [set(bus) for bus in now]
    for old in before:
        home = next((bus for bus in buses if bus & old), None)
        if home is None:
            buses.append(set(old & gone))
        else:
            home |= old & gone
    return tuple(frozenset(bus) for bus in buses if bus)
