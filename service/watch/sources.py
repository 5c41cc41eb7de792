"""The sources that are swept, as one: what each says of itself, and which probes can be tuned."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from sensors.bus import Sweep, SweptSource, TunableSource
from sensors.sample import ProbeId
from service.record.facts import Probe


@dataclass(frozen=True, slots=True)
class LastSweep:
    """When a source was swept last, how long that took, and how many probes it saw."""

    at: datetime
    took_s: float
    present: int


class Sources:
    """Sweeps all sources and remembers what they said of themselves."""

    def __init__(self, sources: Sequence[SweptSource]) -> None:
        self._sources = tuple(sources)
        self._trouble: dict[str, str] = {}
        self._notes: dict[str, tuple[str, ...]] = {}
        self._last: dict[str, LastSweep] = {}

    def sweep(self, now: datetime) -> list[tuple[str, Sweep]]:
        """Sweep each source once: its name and what it found."""
        swept = [(source.name, source.sweep(now)) for source in self._sources]
        self._last = {name: LastSweep(now, sweep.took_s, len(sweep.present)) for name, sweep in swept}
        return swept

    def has(self, name: str) -> bool:
        """Whether there is a source of this name."""
        return any(source.name == name for source in self._sources)

    def last_sweep(self, name: str) -> LastSweep | None:
        """The last sweep of a source; None before the first, or without such a source."""
        return self._last.get(name)

    def remember(self, swept: Iterable[tuple[str, Sweep]]) -> None:
        """Keep what the sources said of themselves."""
        for name, sweep in swept:
            self._trouble[name] = sweep.trouble
            self._notes[name] = sweep.notes

    def troubles(self) -> dict[str, str]:
        """By source what keeps it from being read, or "well"."""
        return {name: text or "well" for name, text in self._trouble.items()}

    def notes(self) -> dict[str, list[str]]:
        """By source what it wants known besides."""
        return {name: list(notes) for name, notes in self._notes.items() if notes}

    def adjustable(self, probe: Probe) -> bool:
        """Whether a probe's resolution can be chosen."""
        source = self._tunable(probe)
        return source is not None and source.adjustable(ProbeId(probe.id))

    def resolution_of(self, probe: Probe) -> int | None:
        """The bits a probe's last value was converted with; None where that means nothing."""
        source = self._tunable(probe)
        return None if source is None else source.resolution_of(ProbeId(probe.id))

    def want_resolutions(self, probes: Iterable[Probe]) -> None:
        """Tell the sources which resolution was chosen for which probe."""
        for probe in probes:
            source = self._tunable(probe)
            if source is not None and probe.resolution_bits is not None:
                source.want_resolution(ProbeId(probe.id), probe.resolution_bits)

    def close(self) -> None:
        """Let go of what the sources hold."""
        for source in self._sources:
            source.close()

    def _tunable(self, probe: Probe) -> TunableSource | None:
        for source in self._sources:
            if source.name == probe.source and isinstance(source, TunableSource):
                return source
        return None
