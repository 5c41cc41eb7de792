"""DS18B20 thermometers and their kin on 1-wire buses, swept by bulk conversion."""

import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import partial
from pathlib import Path

from sensors.bus import RawValue
from sensors.buses import BusSweep
from sensors.patience import Courier, NoAnswerError, side_by_side
from sensors.sample import FaultKind, ProbeFault, ProbeId
from sensors.scratchpad import Unusable, resolution
from sensors.w1files import LOOSE, Bulk, KernelProbes, bulk_state, convert_all, list_buses, set_resolution

CONVERSION_TIMEOUT_S = 3.0
"""Four conversions at 12 bits (750 ms, DS18B20 datasheet, table 2): another reader may be before us."""

GIVE_UP_AFTER = 2
"""How many calls that do not come back one round waits for; the rest of its probes are not asked."""

LINGERS_AFTER = 3
"""Empty answers in a row after which a listed probe counts as pulled: noise does not last that long."""

RESOLUTIONS = (9, 10, 11, 12)

ADJUSTABLE = ("28", "22", "42")
"""Families with a configuration register: DS18B20, DS1822, DS28EA00."""


@dataclass
class _Round:
    """What one bus gave in one sweep."""

    values: list[RawValue] = field(default_factory=list)
    faults: list[ProbeFault] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


class OneWireSource:
    """Every thermometer below root, read once a sweep; satisfies `sensors.bus.SweptSource`.

    Each bus gets one bulk conversion and is then read probe by probe; where the kernel offers none, or
    does not let this user start it, each probe converts in its turn and a note says so. Buses are swept
    side by side. A call into the kernel that does not come back within conversion_timeout_s seconds is
    left behind in its thread and counted as FaultKind.NO_ANSWER; a sweep waits for at most two of those
    on each bus, so it comes back after that time and the time its probes need. monotonic tells seconds.
    """

    name = "onewire"

    def __init__(
        self,
        root: Path,
        *,
        monotonic: Callable[[], float],
        conversion_timeout_s: float = CONVERSION_TIMEOUT_S,
        resolutions: Mapping[ProbeId, int] | None = None,
    ) -> None:
        self._root = root
        self._monotonic = monotonic
        self._timeout_s = conversion_timeout_s
        self._probes = KernelProbes(root)
        self._lister = Courier("1-wire listing", monotonic)
        self._couriers: dict[str, Courier] = {}
        self._known: dict[str, tuple[ProbeId, ...]] = {}
        self._empty: dict[ProbeId, int] = {}
        self._shown_bits: dict[ProbeId, int] = {}
        self._wanted_bits: dict[ProbeId, int] = {}
        self._lock = threading.Lock()
        for probe, bits in (resolutions or {}).items():
            self.want_resolution(probe, bits)

    def adjustable(self, probe: ProbeId) -> bool:
        """Whether this probe's resolution can be chosen: that of some families is fixed."""
        return probe[:2] in ADJUSTABLE

    def want_resolution(self, probe: ProbeId, bits: int) -> None:
        """Have a probe convert at 9 to 12 bits, from its second value on and again after a loss of supply.

        Raises ValueError for other numbers, and for a probe whose resolution is fixed.
        """
        if bits not in RESOLUTIONS:
            raise ValueError(f"a resolution is 9, 10, 11 or 12 bits, not {bits}")
        if probe[:2] not in ADJUSTABLE:
            raise ValueError(f"the resolution of {probe} is fixed")
        with self._lock:
            self._wanted_bits[probe] = bits

    def resolution_of(self, probe: ProbeId) -> int | None:
        """The bits its last value was converted with, or None before there is one."""
        return self._shown_bits.get(probe)

    @property
    def stuck(self) -> int:
        """How many calls into the kernel have not come back."""
        return self._lister.out + sum(courier.out for courier in self._couriers.values())

    def sweep(self, at: datetime) -> BusSweep:
        """Read every probe once; at is the wall time (aware UTC) its values get.

        A root that is missing, unreadable or empty is trouble in words, and is looked at again each time.
        """
        self._probes.load()
        started = self._monotonic()
        faults: list[ProbeFault] = []
        try:
            found = self._lister.run("list", partial(list_buses, self._root), self._timeout_s)
        except NoAnswerError as error:
            trouble = f"The list of probes in {self._root} does not come back ({error}). Restart the machine."
            faults += [
                ProbeFault(probe, at, FaultKind.NO_ANSWER, str(error))
                for probes in self._known.values()
                for probe in probes
            ]
            found, kept = {}, self._known
        except OSError as error:
            trouble = self._no_root(error)
            found = kept = {}
        else:
            trouble = "" if any(found.values()) else self._no_probe(found)
            kept = found
        self._known = kept
        rounds = side_by_side([partial(self._round, bus, probes, at) for bus, probes in found.items()])
        return BusSweep(
            present=frozenset(probe for probes in kept.values() for probe in probes),
            values=tuple(value for one in rounds for value in one.values),
            faults=tuple(faults + [fault for one in rounds for fault in one.faults]),
            took_s=self._monotonic() - started,
            trouble=trouble,
            notes=tuple(note for one in rounds for note in one.notes),
            buses=tuple(frozenset(probes) for probes in kept.values()),
        )

    def close(self) -> None:
        """Let the threads end; one that is stuck in the kernel is abandoned."""
        for courier in (self._lister, *self._couriers.values()):
            courier.close()

    def _no_root(self, error: OSError) -> str:
        if isinstance(error, FileNotFoundError):
            return (
                f"The folder {self._root} is missing, so there is no 1-wire bus. "
                "Switch the 1-wire interface on (dtoverlay=w1-gpio) and restart, "
                "or correct GYLEWATCH_W1_ROOT."
            )
        return (
            f"The folder {self._root} cannot be read ({error.strerror}). "
            "Mend its permissions, or correct GYLEWATCH_W1_ROOT."
        )

    def _no_probe(self, buses: Mapping[str, tuple[ProbeId, ...]]) -> str:
        if not buses:
            return (
                f"There is no 1-wire bus in {self._root}. "
                "Switch the 1-wire interface on (dtoverlay=w1-gpio) and restart, "
                "or correct GYLEWATCH_W1_ROOT."
            )
        return (
            f"No probe answers on {', '.join(buses)}. Check the three wires, "
            "and the resistor of 4.7 kilohm between data and 3.3 V."
        )

    def _round(self, bus: str, probes: tuple[ProbeId, ...], at: datetime) -> _Round:
        """One bus: resolutions, one conversion for all, then one read each. Raises nothing."""
        result = _Round()
        if not probes:
            return result
        courier = self._couriers.setdefault(bus, Courier(f"1-wire {bus}", self._monotonic))
        enough = courier.out + GIVE_UP_AFTER
        bulk = self._convert(bus, courier, result)
        for probe in probes:
            if courier.out >= enough:
                detail = "not asked, since the bus does not come back"
                result.faults.append(ProbeFault(probe, at, FaultKind.NO_ANSWER, detail))
            else:
                self._read(bus, courier, probe, bulk, at, result)
                self._set_resolution(courier, probe, result)
        return result

    def _convert(self, bus: str, courier: Courier, result: _Round) -> Bulk:
        if bus == LOOSE:
            result.notes.append(f"{self._root} does not say which bus some probes are on.")
            return Bulk(False)
        file = self._root / bus / "therm_bulk_read"
        try:
            bulk = courier.run("bulk", partial(convert_all, file), self._timeout_s)
        except NoAnswerError as error:
            bulk = Bulk(False, f"the bulk conversion does not come back: {error}")
        if not bulk.done:
            result.notes.append(f"The probes on {bus} are read one after another, which is slow: {bulk.why}.")
        return bulk

    def _set_resolution(self, courier: Courier, probe: ProbeId, result: _Round) -> None:
        """Give a probe the bits wanted when its last value shows others; the next conversion uses them."""
        with self._lock:
            bits = self._wanted_bits.get(probe)
        if bits is None or self._shown_bits.get(probe) in (None, bits):
            return
        try:
            why = courier.run(probe, partial(set_resolution, self._root / probe, bits), self._timeout_s)
        except NoAnswerError as error:
            why = str(error)
        if why:
            result.notes.append(f"The resolution of {probe} could not be set to {bits} bits: {why}.")

    def _read(
        self, bus: str, courier: Courier, probe: ProbeId, bulk: Bulk, at: datetime, result: _Round
    ) -> None:
        read = partial(self._probes.read, probe)
        try:
            if bulk.leftover:
                # Somebody else's bulk conversion left values unread, however long ago: throw one away.
                courier.run(probe, read, self._timeout_s)
            started = self._monotonic()
            found = courier.run(probe, read, self._timeout_s)
            took_s = self._monotonic() - started
            if isinstance(found, Unusable) and found.kind is FaultKind.EMPTY:
                found = self._explain_empty(bus, courier, probe)
            else:
                self._empty.pop(probe, None)
        except NoAnswerError as error:
            found = Unusable(FaultKind.NO_ANSWER, str(error))
        if isinstance(found, Unusable):
            result.faults.append(ProbeFault(probe, at, found.kind, found.detail))
            return
        self._shown_bits[probe] = resolution(found.scratchpad)
        result.values.append(RawValue(probe, at, found.raw_c, took_s, found.scratchpad))

    def _explain_empty(self, bus: str, courier: Courier, probe: ProbeId) -> Unusable:
        """Why a file was empty. Kernels since 5.10 give nothing in three cases and hide which.

        During a conversion (or after one that was cut off) the bulk file says -1. Otherwise five tries
        brought no right checksum: noise, if it happens once; a probe that is gone, if it goes on.
        """
        file = self._root / bus / "therm_bulk_read"
        state = courier.run("state", partial(bulk_state, file), self._timeout_s) if bus else ""
        if state == "-1":
            return Unusable(FaultKind.EMPTY, "the bus was busy with another program's conversion")
        if state == "":
            return Unusable(FaultKind.EMPTY, "the file was empty")
        self._empty[probe] = self._empty.get(probe, 0) + 1
        if self._empty[probe] >= LINGERS_AFTER:
            return Unusable(FaultKind.LINGERS, f"listed, but no answer {self._empty[probe]} times running")
        return Unusable(FaultKind.CRC, "five tries brought no right checksum")
