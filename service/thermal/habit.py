"""The room's habit: its level, its daily pattern, and how unsure both are ahead. Plain Python.

Works from one day on; earlier days than the brew help. Hours are hours of the local day, 0 to 23.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

FADE_H = 8.0
"""What the room does now beside its habit (a door, an oven) is forgotten with this memory."""

LEAST_DAILY_SD, USUAL_DAILY_SD = 0.25, 0.7
MOST_DAYS = 14


@dataclass(frozen=True, slots=True)
class Habit:
    """level_c: mean of the last day. pattern_c: 24 deviations by hour of the day. off_c: how far the air is
    from both now. daily_sd_c: how the level walks in a day. scatter_c: spread about the pattern.
    """

    level_c: float
    pattern_c: tuple[float, ...]
    off_c: float
    daily_sd_c: float
    scatter_c: float
    days: float

    def at(self, hours_ahead: float, clock_h: float) -> float:
        """Expected air, `hours_ahead` from now, when the local clock shows `clock_h`."""
        low = math.floor(clock_h) % 24
        part = clock_h - math.floor(clock_h)
        shape = self.pattern_c[low] * (1 - part) + self.pattern_c[(low + 1) % 24] * part
        return self.level_c + shape + self.off_c * math.exp(-hours_ahead / FADE_H)

    def sd(self, hours_ahead: float) -> float:
        """Standard deviation of the air's mean level so far ahead; it grows."""
        return math.sqrt(
            self.daily_sd_c**2 * hours_ahead / 24 + self.scatter_c**2 * min(1.0, hours_ahead / 3)
        )


def learned(hourly_c: Sequence[float | None], last_clock_h: int) -> Habit | None:
    """The habit from hourly means, oldest first, None in gaps; the last one is of the hour `last_clock_h`.

    None with fewer than three hours known.
    """
    values = list(hourly_c)[-24 * MOST_DAYS :]
    known = [v for v in values if v is not None]
    if len(known) < 3:
        return None
    last_day = [v for v in values[-24:] if v is not None] or known[-24:]
    level = sum(last_day) / len(last_day)
    days = len(known) / 24
    clock = [(last_clock_h - (len(values) - 1 - k)) % 24 for k in range(len(values))]
    day_means = []
    for first in range(len(values) % 24, len(values), 24):
        day = [v for v in values[first : first + 24] if v is not None]
        if len(day) >= 12:
            day_means.append(sum(day) / len(day))
    sums, counts = [0.0] * 24, [0] * 24
    for k, value in enumerate(values):
        near = [v for v in values[max(0, k - 12) : k + 13] if v is not None]
        if value is not None and len(near) >= 18:
            sums[clock[k]] += value - sum(near) / len(near)
            counts[clock[k]] += 1
    # Half a day's weight for "no pattern": one day alone is half an accident.
    raw = [s / (n + 0.5) for s, n in zip(sums, counts, strict=True)]
    pattern = [(raw[h - 1] + 2 * raw[h] + raw[(h + 1) % 24]) / 4 for h in range(24)]
    left = [
        value - level - pattern[clock[k]]
        for k, value in enumerate(values)
        if value is not None and k >= len(values) - 24
    ]
    scatter = math.sqrt(sum(v * v for v in left) / len(left)) if days >= 1 else 0.8
    steps = [b - a for a, b in pairwise(day_means)]
    walked = sum(s * s for s in steps) + 2 * USUAL_DAILY_SD**2
    daily = max(LEAST_DAILY_SD, math.sqrt(walked / (len(steps) + 2)))
    now = known[-1] - level - pattern[clock[-1]] if values[-1] is not None else 0.0
    return Habit(level, tuple(pattern), now, daily, scatter, days)
