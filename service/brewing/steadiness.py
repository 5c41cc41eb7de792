"""How much may still come: the upper bound of the rate between readings, times the days that matter."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from service.brewing.readings import ReadingKind
from service.brewing.working import Z90

REPEAT_SD_PT = {
    ReadingKind.HYDROMETER: 0.7,
    ReadingKind.REFRACTOMETER: 0.9,
    ReadingKind.WEIGHT: 0.7,
}
"""Standard deviation of one reading against the next of its own kind, points; common practice."""

_TAIL_DAYS = ((10.0, 6.2), (14.0, 3.5), (18.0, 1.98), (20.0, 1.48), (22.0, 1.12))
"""Days in which a dying fermentation's rate falls to 1/e, by temperature (C).

From the sugar left between half and 95 % in the kinetics of Gee & Ramirez (second-hand) at 18, 20 and
22 C; those at 10 and 14 C continue their slope. A rate seen now goes on for so long, no longer.
"""


@dataclass(frozen=True, slots=True)
class DirectReading:
    """A corrected reading at an aware time; sg, low, high as `readings.reading` gives them."""

    at: datetime
    by: ReadingKind
    sg: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Steadiness:
    """The newest readings of one kind taken together.

    rate_low, rate_high: ends of the 90 % interval of the fall, points a day. points_to_come: rate_high
    times days_that_matter. span: from the first to the last reading counted. last_sg: the newest of them.
    """

    by: ReadingKind
    count: int
    first_at: datetime
    last_at: datetime
    rate_low: float
    rate_high: float
    days_that_matter: float
    points_to_come: float
    last_sg: float

    @property
    def span(self) -> timedelta:
        return self.last_at - self.first_at


def days_that_matter(temp_c: float) -> float:
    """Days for which a rate seen at temp_c counts in the bottle; at 10 C and below the longest."""
    if temp_c <= _TAIL_DAYS[0][0]:
        return _TAIL_DAYS[0][1]
    for (low_c, slow), (high_c, fast) in pairwise(_TAIL_DAYS):
        if temp_c <= high_c:
            return slow + (fast - slow) * (temp_c - low_c) / (high_c - low_c)
    return _TAIL_DAYS[-1][1]


def steadiness(readings: Sequence[DirectReading], temp_c: float) -> Steadiness | None:
    """The most telling run of newest readings of one kind, or None with fewer than two of any kind.

    temp_c: the beer's mean temperature meanwhile, C. A rise counts as no fall: nothing goes back.
    """
    runs = [run for kind in REPEAT_SD_PT if (run := _best_run(kind, readings, temp_c)) is not None]
    return min(runs, key=lambda run: run.points_to_come, default=None)


def contradicted(chosen: Steadiness, readings: Sequence[DirectReading], temp_c: float) -> Steadiness | None:
    """A run that says otherwise, or None.

    Either the newest readings of the same kind surely fall, however steady the long run, or another
    kind's readings surely fall faster than the chosen ones allow.
    """
    for run in _runs(chosen.by, readings, temp_c):
        if run.first_at > chosen.first_at and run.rate_low > 0:
            return run
    for kind in REPEAT_SD_PT:
        other = _best_run(kind, readings, temp_c)
        if other is not None and other.rate_low > chosen.rate_high:
            return other
    return None


def span_needed(temp_c: float, most_points: float) -> timedelta:
    """How far apart two equal hydrometer readings must be for most_points to be the most that may come."""
    half_pt = Z90 * REPEAT_SD_PT[ReadingKind.HYDROMETER] * math.sqrt(2)
    return timedelta(days=half_pt * days_that_matter(temp_c) / most_points)


def _runs(kind: ReadingKind, readings: Sequence[DirectReading], temp_c: float) -> list[Steadiness]:
    own = sorted((r for r in readings if r.by is kind), key=lambda r: r.at)
    runs = [_run(own[-count:], temp_c) for count in range(2, len(own) + 1)]
    return [run for run in runs if run is not None]


def _best_run(kind: ReadingKind, readings: Sequence[DirectReading], temp_c: float) -> Steadiness | None:
    return min(_runs(kind, readings, temp_c), key=lambda run: run.points_to_come, default=None)


def _run(readings: list[DirectReading], temp_c: float) -> Steadiness | None:
    days = [(r.at - readings[0].at).total_seconds() / 86400 for r in readings]
    mean_day = sum(days) / len(days)
    spread = sum((day - mean_day) ** 2 for day in days)
    if spread <= 0:
        return None
    fall = -sum((day - mean_day) * r.sg * 1000 for day, r in zip(days, readings, strict=True)) / spread
    half = Z90 * REPEAT_SD_PT[readings[0].by] / math.sqrt(spread)
    matter = days_that_matter(temp_c)
    rate_high = max(0.0, fall) + half
    return Steadiness(
        by=readings[0].by,
        count=len(readings),
        first_at=readings[0].at,
        last_at=readings[-1].at,
        rate_low=fall - half,
        rate_high=rate_high,
        days_that_matter=matter,
        points_to_come=rate_high * matter,
        last_sg=readings[-1].sg,
    )
