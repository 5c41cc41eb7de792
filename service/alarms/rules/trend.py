"""What the rules read from a short run of samples: its slope, and a kettle's boiling plateau."""

from collections.abc import Sequence
from datetime import datetime, timedelta

Run = Sequence[tuple[datetime, float]]
"""(time, temperature in C), oldest first."""

PLATEAU_LASTS = timedelta(minutes=5)
PLATEAU_SPREAD_C = 0.5
PLATEAU_LEAST_C = 85.0
"""Water boils at 85 C about 4,600 m up: nobody's kettle boils below that."""


def slope_c_per_h(run: Run) -> float | None:
    """The least-squares slope in C an hour; None for fewer than three samples or less than 30 s."""
    if len(run) < 3 or run[-1][0] - run[0][0] < timedelta(seconds=30):
        return None
    hours = [(at - run[0][0]).total_seconds() / 3600 for at, _ in run]
    middle_h = sum(hours) / len(run)
    middle_c = sum(temp for _, temp in run) / len(run)
    spread = sum((h - middle_h) ** 2 for h in hours)
    return sum((h - middle_h) * (temp - middle_c) for h, (_, temp) in zip(hours, run, strict=True)) / spread


def boiling_plateau_c(run: Run) -> float | None:
    """Where this kettle boils by this probe: the mean of the last five minutes, if hot and level."""
    if not run or run[-1][0] - run[0][0] < PLATEAU_LASTS:
        return None
    last = [temp for at, temp in run if at >= run[-1][0] - PLATEAU_LASTS]
    if min(last) < PLATEAU_LEAST_C or max(last) - min(last) > PLATEAU_SPREAD_C:
        return None
    return sum(last) / len(last)
