"""Which backups are kept. Pure: from the times of the backups to those that stay."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Keeping:
    """The newest backup of each of so many days, weeks and months that have one."""

    days: int = 7
    weeks: int = 4
    months: int = 6


USUAL = Keeping()


def staying(times: Iterable[datetime], keeping: Keeping = USUAL) -> set[datetime]:
    """Which of these aware UTC times stay; the newest always does.

    Only stretches that have a backup count, so that a machine that was off for a year keeps as much
    as one that ran.
    """
    newest_first = sorted(times, reverse=True)
    stay = set(newest_first[:1])
    for stretch, many in (
        (_day, keeping.days),
        (_week, keeping.weeks),
        (_month, keeping.months),
    ):
        stay |= _newest_of_each(newest_first, stretch, many)
    return stay


def _newest_of_each(
    newest_first: list[datetime], stretch: Callable[[datetime], tuple[int, ...]], many: int
) -> set[datetime]:
    found: dict[tuple[int, ...], datetime] = {}
    for at in newest_first:
        found.setdefault(stretch(at), at)
    return set(list(found.values())[:many])


def _day(at: datetime) -> tuple[int, ...]:
    return (at.year, at.month, at.day)


def _week(at: datetime) -> tuple[int, ...]:
    return at.isocalendar()[:2]


def _month(at: datetime) -> tuple[int, ...]:
    return (at.year, at.month)
