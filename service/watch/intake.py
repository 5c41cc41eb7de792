"""From raw values to believed samples and minutes: screen, calibrate, keep live, fold.

Everything a source brings passes here once. What leaves is a believed sample, or a counted fault.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sensors.bus import RawValue, Sweep
from sensors.sample import FaultKind, ProbeFault, ProbeId, Sample
from sensors.screening import LIMITS, Believed, Limits, Screen, ScreeningState
from service.record.minutes import MinuteRow
from service.watch.fold import OpenMinute, fold, milli
from service.watch.house import House
from service.watch.live import LiveProbe

ARRIVED = "pushed"
"""The screening of all values that arrive by themselves, whichever way."""

BACKLOG_ROWS = 20_000
"""Minutes kept in memory while the record cannot be written: two weeks of one probe, two days of eight."""


@dataclass(frozen=True, slots=True)
class Sight:
    """One probe as seen now: temp_c is null while it is silent, last_c is the last value however old."""

    temp_c: float | None
    last_c: float | None
    at: datetime | None
    age_s: float | None
    trend_c_per_h: float | None
    present: bool
    read_ms: float | None
    last_fault: ProbeFault | None
    faults_1h: Mapping[FaultKind, int]


@dataclass(frozen=True, slots=True)
class Stamp:
    """The minute that values are counted into: of the wall clock when `dated`, else of this boot."""

    minute: int
    dated: bool


@dataclass(frozen=True, slots=True)
class Kept:
    """A minute that waits for a commit."""

    dated: bool
    row: MinuteRow


class Intake:
    """Holds what is known of each probe, the minutes that are filling, and what waits for a commit."""

    def __init__(self, monotonic: Callable[[], float], limits: Limits = LIMITS) -> None:
        self._monotonic = monotonic
        self.limits = limits
        self._screens: dict[str, Screen] = {}
        self.started = monotonic()
        self.live: dict[str, LiveProbe] = {}
        self.open: dict[tuple[int, bool], OpenMinute] = {}
        self.finished: list[Kept] = []
        self._last: dict[tuple[int, bool], OpenMinute] = {}
        self.faults: list[ProbeFault] = []
        self.lost_minutes = 0

    def take(
        self, source: str, sweep: Sweep, house: House, now: datetime, stamp: Stamp
    ) -> tuple[list[Sample], list[str]]:
        """Take one sweep of a source; returns the believed samples, and the probes that changed fast."""
        screen = self._screen(source)
        believed, faults = screen.sift(sweep, now)
        for probe_id in sweep.present:
            self._known(probe_id, now).present = True
        for known, probe in house.probes.items():
            if probe.source == source and known in self.live and known not in sweep.present:
                self.live[known].present = False
        for fault in faults:
            self._doubt(screen, fault)
        samples = [self._believe(one, house, stamp) for one in believed]
        return samples, [str(one.value.probe_id) for one in believed if one.fast_change]

    def _believe(self, one: Believed, house: House, stamp: Stamp) -> Sample:
        value = one.value
        sample = Sample(
            value.probe_id, value.at, value.raw_c, house.calibrated(value.probe_id, value.raw_c, value.at)
        )
        seen = self._known(value.probe_id, value.at)
        seen.believe(sample, self._monotonic())
        seen.read_ms = value.read_s * 1000
        known = house.probes.get(value.probe_id)
        if known is not None:
            self._fold(known.number, stamp, milli(value.raw_c))
        return sample

    def _fold(self, number: int, stamp: Stamp, raw_mc: int) -> None:
        key = (number, stamp.dated)
        self.open[key], finished = fold(self._filling(key, stamp.minute), stamp.minute, raw_mc)
        if finished is not None:
            self._finish(key, finished)

    def _filling(self, key: tuple[int, bool], minute: int) -> OpenMinute | None:
        """The minute that fills, or the last one taken up again: a clock that is put right by some
        seconds comes back into a minute that was finished already."""
        last = self._last.get(key)
        if key in self.open or last is None or last.minute != minute:
            return self.open.get(key)
        again = Kept(key[1], last.row(key[0]))
        self.finished = [kept for kept in self.finished if kept != again]
        return last

    def _finish(self, key: tuple[int, bool], minute: OpenMinute) -> None:
        self.finished.append(Kept(key[1], minute.row(key[0])))
        self._last[key] = minute

    def _screen(self, source: str) -> Screen:
        if source not in self._screens:
            self._screens[source] = Screen(self.limits, lambda: self._shown_elsewhere(source))
        return self._screens[source]

    def _shown_elsewhere(self, source: str) -> dict[ProbeId, float]:
        """What the probes of all other sources last showed."""
        others = [screen.last_values() for name, screen in self._screens.items() if name != source]
        return {probe: value for values in others for probe, value in values.items()}

    def forget(self, probe_id: ProbeId) -> None:
        """Drop what is known of a probe that was taken out of use: it is not missed any more."""
        for screen in self._screens.values():
            screen.forget(probe_id)
        self.live.pop(probe_id, None)

    def screen_pushed(self, value: RawValue) -> Believed | ProbeFault:
        """Look at one value that arrived, as at any other."""
        return self._screen(ARRIVED).sift_one(value)

    def pushed_state(self, probe_id: ProbeId) -> ScreeningState | None:
        """What the screening remembers of a probe whose values arrive."""
        return self._screen(ARRIVED).state_of(probe_id)

    def pushed_back(self, probe_id: ProbeId, state: ScreeningState | None) -> None:
        """Let the screening remember that again: what it saw since was not stored."""
        self._screen(ARRIVED).put_back(probe_id, state)

    def take_pushed(self, sample: Sample, age_s: float) -> None:
        """Take a believed value that arrived; its minute is made from the samples kept raw."""
        seen = self._known(sample.probe_id, sample.at)
        if seen.last is None or sample.at > seen.last.at:
            seen.believe(sample, self._monotonic() - max(age_s, 0.0))

    def remember(self, sample: Sample) -> None:
        """Take a sample of an earlier run for the trend; the probe is not heard by that."""
        seen = self._known(sample.probe_id, sample.at)
        seen.recent.append((sample.at, sample.temp_c))

    def note_fault(self, fault: ProbeFault) -> None:
        """Count a fault of a value that arrived."""
        self._doubt(self._screen(ARRIVED), fault)

    def _doubt(self, screen: Screen, fault: ProbeFault) -> None:
        seen = self._known(fault.probe_id, fault.at)
        seen.doubt(fault)
        if fault.kind is FaultKind.FROZEN:
            state = screen.state_of(fault.probe_id)
            seen.still_since = None if state is None or state.still is None else state.still.at
        self.faults.append(fault)

    def _known(self, probe_id: str, now: datetime) -> LiveProbe:
        if probe_id not in self.live:
            self.live[probe_id] = LiveProbe(now)
        return self.live[probe_id]

    def close_minutes(self, stamp: Stamp) -> None:
        """Finish the minutes that fill no longer: earlier ones, and those of the other way of counting."""
        for (number, dated), minute in list(self.open.items()):
            if dated != stamp.dated or minute.minute < stamp.minute:
                self._finish((number, dated), minute)
                del self.open[number, dated]

    def rows_to_store(self) -> list[Kept]:
        """The minutes that a commit takes along: finished ones, and those filling as far as they are."""
        filling = [Kept(dated, minute.row(number)) for (number, dated), minute in self.open.items()]
        return self.finished + filling

    def stored(self, rows: Sequence[Kept], faults: int) -> None:
        """Those are committed now, and the first so many faults."""
        gone = set(rows)
        self.finished = [kept for kept in self.finished if kept not in gone]
        self.faults = self.faults[faults:]

    def bound(self) -> None:
        """Keep the backlog within memory while nothing can be written; what is dropped is counted."""
        extra = len(self.finished) - BACKLOG_ROWS
        if extra > 0:
            self.finished = self.finished[extra:]
            self.lost_minutes += extra
        if len(self.faults) > BACKLOG_ROWS:
            self.faults = self.faults[-BACKLOG_ROWS:]

    def up_s(self) -> float:
        """Seconds since this run began to look."""
        return self._monotonic() - self.started

    def silence_s(self, probe_id: str) -> float:
        """Seconds since anything was believed of a probe, counted from the start when nothing was."""
        seen = self.live.get(probe_id)
        heard = self.started if seen is None or seen.heard_mono is None else seen.heard_mono
        return max(self._monotonic() - heard, 0.0)

    def sight(self, probe_id: str, now: datetime, silent: bool) -> Sight | None:
        """A probe as seen now, or None when nothing was ever heard of it in this run."""
        seen = self.live.get(probe_id)
        if seen is None:
            return None
        last = seen.last
        return Sight(
            temp_c=None if last is None or silent else round(last.temp_c, 4),
            last_c=None if last is None else last.temp_c,
            at=None if last is None else last.at,
            age_s=None if last is None else round(self.silence_s(probe_id), 1),
            trend_c_per_h=_rounded(seen.trend_c_per_h()),
            present=seen.present,
            read_ms=seen.read_ms,
            last_fault=seen.last_fault,
            faults_1h=seen.faults_within(now, timedelta(hours=1)),
        )


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3)
