"""What is known right now of each probe: the last believed value, where it tends, how it fares."""

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from sensors.sample import FaultKind, ProbeFault, Sample

TREND_OVER = timedelta(minutes=60)
TREND_NEEDS = timedelta(minutes=10)


@dataclass(slots=True)
class LiveProbe:
    """One probe as the watch sees it now.

    first_seen_at: when this run met it. last: the newest believed sample, calibrated. heard_mono: when
    that was, by the monotonic clock, so that a clock set anew makes nobody silent or fresh. still_since:
    since when it showed exactly the same value, when the last fault was that it is frozen.
    """

    first_seen_at: datetime
    last: Sample | None = None
    heard_mono: float | None = None
    present: bool = True
    read_ms: float | None = None
    last_fault: ProbeFault | None = None
    still_since: datetime | None = None
    recent_faults: deque[tuple[datetime, FaultKind]] = field(default_factory=lambda: deque(maxlen=4000))
    recent: deque[tuple[datetime, float]] = field(default_factory=lambda: deque(maxlen=240))

    def believe(self, sample: Sample, heard_mono: float) -> None:
        """Take a believed sample that is the newest."""
        if self.last is not None and sample.at < self.last.at:
            self.recent.clear()  # the clock was set back: the old times compare with nothing
        self.last = sample
        self.heard_mono = heard_mono
        if not self.recent or sample.at - self.recent[-1][0] >= timedelta(seconds=15):
            self.recent.append((sample.at, sample.temp_c))

    def doubt(self, fault: ProbeFault) -> None:
        """Take a fault."""
        self.last_fault = fault
        self.recent_faults.append((fault.at, fault.kind))

    def faults_within(self, now: datetime, span: timedelta) -> dict[FaultKind, int]:
        """Faults by kind in the span before `now`."""
        counts: dict[FaultKind, int] = {}
        for at, kind in self.recent_faults:
            if now - span < at <= now:
                counts[kind] = counts.get(kind, 0) + 1
        return counts

    def trend_c_per_h(self) -> float | None:
        """Slope over the hour before the last sample, in C per hour; None with under ten minutes of it."""
        if self.last is None:
            return None
        newest = self.last.at
        recent = [(at, value) for at, value in self.recent if newest - TREND_OVER <= at <= newest]
        return slope_c_per_h(recent, TREND_NEEDS)

    def slope_c_per_min(self, over: timedelta) -> float | None:
        """Slope over a short span before the last sample, in C per minute; None with too little of it."""
        if self.last is None:
            return None
        newest = self.last.at
        recent = [(at, value) for at, value in self.recent if newest - over <= at <= newest]
        slope = slope_c_per_h(recent, over / 3)
        return None if slope is None else slope / 60


def slope_c_per_h(values: Iterable[tuple[datetime, float]], least: timedelta) -> float | None:
    """The least-squares slope through (time, temperature) pairs, in C per hour; None under `least` of it."""
    points = list(values)
    if len(points) < 3 or points[-1][0] - points[0][0] < least:
        return None
    start = points[0][0]
    hours = [(at - start).total_seconds() / 3600 for at, _ in points]
    mean_h = sum(hours) / len(points)
    mean_c = sum(value for _, value in points) / len(points)
    spread = sum((h - mean_h) ** 2 for h in hours)
    return sum((h - mean_h) * (value - mean_c) for h, (_, value) in zip(hours, points, strict=True)) / spread
