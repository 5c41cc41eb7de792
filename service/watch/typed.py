"""What a thermometer shows that a person reads and types in: rare, and good for some hours each time. Pure.

Nobody types by the clock, so silence of such a probe is no fault and raises nothing; its value simply ages.
"""

from collections.abc import Iterable
from datetime import timedelta

from service.record.minutes import Bucket

TYPED = "typed"
"""The source of a probe whose values are typed in."""

INTERVAL_S = 4 * 3600.0
HOLDS = timedelta(seconds=3 * INTERVAL_S)
"""So long a value stands for the room: rooms swing within a day (our own choice)."""

COLDEST_C, WARMEST_C = -30.0, 50.0
"""No room that beer is brewed in is colder or warmer: beyond lies a slip, or another scale."""


def holds_min() -> int:
    """For how many minutes a value stands."""
    return int(HOLDS.total_seconds() // 60)


def held(points: Iterable[Bucket], first: int, last: int, width_min: int) -> list[Bucket]:
    """Values by the minute, each standing until the next and no longer than it holds, as buckets.

    points: of one minute each, oldest first, from before `first` on. Buckets are aligned to `width_min`
    and hold the minutes of [first, last) that a value stands for.
    """
    found: dict[int, Bucket] = {}
    points = list(points)
    ends = [*(p.start_minute for p in points[1:]), last]
    for point, until in zip(points, ends, strict=False):
        a = max(first, point.start_minute)
        b = min(last, until, point.start_minute + holds_min())
        for start in range(a - a % width_min, b, width_min):
            many = min(b, start + width_min) - max(a, start)
            if many <= 0:
                continue
            old = found.get(start)
            if old is None:
                found[start] = Bucket(start, point.mean_mc, point.min_mc, point.max_mc, many)
            else:
                count = old.minutes + many
                mean_mc = (old.mean_mc * old.minutes + point.mean_mc * many) / count
                low, high = min(old.min_mc, point.min_mc), max(old.max_mc, point.max_mc)
                found[start] = Bucket(start, mean_mc, low, high, count)
    return [found[start] for start in sorted(found)]


def age_words(age: timedelta) -> str:
    """How old a typed value is and what that means, as a sentence."""
    minutes = int(age.total_seconds() // 60)
    if minutes < 2:
        ago = "just now"
    elif minutes < 120:
        ago = f"{minutes} minutes ago"
    else:
        ago = f"{minutes // 60} hours ago"
    hours = holds_min() // 60
    if age < HOLDS:
        return f"Read by hand {ago}; it stands for the room for {hours} hours."
    return f"Read by hand {ago}, too old to count. Type in what the thermometer shows now."
