"""How a batch's minutes stood to its band: time inside, degree-hours outside, the extreme hours. Pure."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from service.plans.course import BandSpan, Step
from service.record.types import EPOCH

LEAST_OF_AN_HOUR = 0.5
"""An hour of which less was measured is neither the warmest nor the coldest."""


@dataclass(slots=True)
class Counted:
    """Seconds watched in stages with a band, seconds inside it, degree-hours above and below."""

    watched_s: float = 0.0
    inside_s: float = 0.0
    warm: float = 0.0
    cold: float = 0.0

    @property
    def share(self) -> float | None:
        """Share of the watched time inside; None where nothing was watched."""
        return round(self.inside_s / self.watched_s, 4) if self.watched_s else None

    def add(self, other: "Counted") -> None:
        """Add what was counted elsewhere."""
        self.watched_s += other.watched_s
        self.inside_s += other.inside_s
        self.warm += other.warm
        self.cold += other.cold


@dataclass(frozen=True, slots=True)
class Hour:
    """The mean of an hour that begins at a time."""

    at: datetime
    temp_c: float


def against(
    spans: Sequence[BandSpan], steps: Sequence[Step], means: Mapping[int, float], width_min: int
) -> dict[int, Counted]:
    """What one vessel's means come to, by the number of the step they fell in.

    means: by the first minute since 1970 of a bucket of `width_min`; each is held against the band at its
    middle. Stages without a band are not counted.
    """
    found: dict[int, Counted] = {}
    in_span = in_step = 0
    hours = width_min / 60
    for minute, temp_c in sorted(means.items()):
        middle = EPOCH + timedelta(minutes=minute + width_min / 2)
        while in_span < len(spans) - 1 and spans[in_span].to_at <= middle:
            in_span += 1
        while in_step < len(steps) - 1 and steps[in_step + 1].entered_at <= middle:
            in_step += 1
        if not spans or not spans[in_span].from_at <= middle < spans[in_span].to_at:
            continue
        low, high = spans[in_span].low_c, spans[in_span].high_c
        if low is None and high is None:
            continue
        counted = found.setdefault(steps[in_step].n, Counted())
        over = max(0.0, temp_c - high) if high is not None else 0.0
        under = max(0.0, low - temp_c) if low is not None else 0.0
        counted.watched_s += hours * 3600
        counted.inside_s += 0.0 if over or under else hours * 3600
        counted.warm += over * hours
        counted.cold += under * hours
    return found


def by_hour(means: Mapping[int, float], width_min: int) -> list[Hour]:
    """Clock hours of which enough was measured, oldest first."""
    hours: dict[int, list[float]] = {}
    for minute, temp_c in means.items():
        hours.setdefault(minute // 60, []).append(temp_c)
    return [
        Hour(EPOCH + timedelta(hours=hour), sum(temps) / len(temps))
        for hour, temps in sorted(hours.items())
        if len(temps) * width_min >= LEAST_OF_AN_HOUR * 60
    ]


def extremes(hours: Iterable[Hour], from_at: datetime, to_at: datetime) -> tuple[Hour | None, Hour | None]:
    """The warmest and the coldest of the hours that begin between two times."""
    within = [hour for hour in hours if from_at <= hour.at < to_at]
    return max(within, key=lambda h: h.temp_c, default=None), min(
        within, key=lambda h: h.temp_c, default=None
    )
