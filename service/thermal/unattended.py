"""Until when a batch may be left: the earliest time at which absence could cost the beer. Plain Python."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Call:
    """Something that will want a hand: when at the earliest, and why, as a sentence."""

    at: datetime
    because: str


@dataclass(frozen=True, slots=True)
class Leave:
    """until: None when nothing is foreseen. next: what else comes, in order."""

    until: datetime | None
    because: str
    next: tuple[Call, ...]


def leave(now: datetime, calls: Sequence[Call], horizon: datetime, blind: str = "") -> Leave:
    """The earliest call; past ones count as now. blind: why one cannot look so far ("" if one can)."""
    ahead = sorted((Call(max(now, c.at), c.because) for c in calls), key=lambda c: c.at)
    if ahead and (ahead[0].at <= horizon or not blind):
        return Leave(ahead[0].at, ahead[0].because, tuple(ahead[1:]))
    if blind:
        return Leave(horizon, blind, tuple(ahead))
    return Leave(None, "Nothing is foreseen that needs a hand.", ())
