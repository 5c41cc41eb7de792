"""The same plan in other seasons, and backwards from the day the beer is wanted. Plain Python."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from service.thermal.rehearsal import Rehearsal, Setting, rehearse


def seasons(s: Setting, means: Sequence[tuple[str, float]]) -> list[tuple[str, Rehearsal]]:
    """The same plan in other seasons: (name, mean of the room)."""
    return [
        (name, rehearse(replace(s, room=replace(s.room, mean_c=mean, trace_c=())))) for name, mean in means
    ]


def brew_days(
    wanted: datetime,
    hands_h: Sequence[float],
    whole_h: float,
    away: Sequence[tuple[datetime, datetime]],
    earliest: datetime,
    most: int = 14,
) -> list[datetime]:
    """Backwards: starts, a day apart, from which the beer is ready in time and no hand is wanted while away.

    hands_h: hours after the start at which somebody must be there (0 is the brewing itself). Latest first.
    """  # fmt: skip
    out: list[datetime] = []
    start = wanted - timedelta(hours=whole_h)
    while start >= earliest and len(out) < most:
        moments = [start + timedelta(hours=h) for h in hands_h]
        if not any(begin <= m <= end for m in moments for begin, end in away):
            out.append(start)
        start -= timedelta(days=1)
    return out
