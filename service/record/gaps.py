"""Where minutes are missing: a gap in the record is shown as a gap."""

from collections.abc import Iterator

from sqlalchemy import Connection, func, select

from service.record.minutes import MINUTES_PER_HOUR
from service.record.tables import hour, minute

REFINED_HOURS = 200


def gaps_between(
    connection: Connection, probe: int, from_minute: int, to_minute: int, width_minutes: int, patience: int
) -> list[tuple[int, int]]:
    """Stretches of more than `patience` minutes without any, as [from, to) in minutes since 1970.

    For buckets of hours and more the hours are searched, and only those that are not full are looked at
    by the minute (at most so many; beyond that a gap inside an hour stays unseen at that scale).
    """
    if width_minutes < MINUTES_PER_HOUR:
        present = _minutes(connection, probe, from_minute, to_minute)
    else:
        present = list(_through_hours(connection, probe, from_minute, to_minute, patience))
    return list(_holes(present, from_minute, to_minute, patience))


def _holes(
    present: list[tuple[int, int]], from_minute: int, to_minute: int, patience: int
) -> Iterator[tuple[int, int]]:
    """Holes of more than `patience` minutes between stretches [a, b) that are in order."""
    reached = from_minute
    for a, b in present:
        if a - reached > patience:
            yield reached, a
        reached = max(reached, b)
    if to_minute - reached > patience:
        yield reached, to_minute


def _minutes(connection: Connection, probe: int, from_minute: int, to_minute: int) -> list[tuple[int, int]]:
    """Runs of minutes as [first, last + 1); the numbering trick finds them in the database."""
    numbered = (
        select(
            minute.c.minute,
            (minute.c.minute - func.row_number().over(order_by=minute.c.minute)).label("run"),
        )
        .where(minute.c.probe == probe, minute.c.minute >= from_minute, minute.c.minute < to_minute)
        .subquery()
    )
    rows = connection.execute(
        select(func.min(numbered.c.minute), func.max(numbered.c.minute) + 1)
        .group_by(numbered.c.run)
        .order_by(func.min(numbered.c.minute))
    )
    return [(row[0], row[1]) for row in rows]


def _through_hours(
    connection: Connection, probe: int, from_minute: int, to_minute: int, patience: int
) -> Iterator[tuple[int, int]]:
    rows = connection.execute(
        select(hour.c.hour, hour.c.minutes)
        .where(
            hour.c.probe == probe,
            hour.c.hour >= from_minute // MINUTES_PER_HOUR,
            hour.c.hour * MINUTES_PER_HOUR < to_minute,
        )
        .order_by(hour.c.hour)
    ).all()
    looked_at = 0
    for at, count in rows:
        begins, ends = at * MINUTES_PER_HOUR, (at + 1) * MINUTES_PER_HOUR
        if count >= MINUTES_PER_HOUR - patience or looked_at >= REFINED_HOURS:
            yield begins, ends
            continue
        looked_at += 1
        yield from _minutes(connection, probe, max(begins, from_minute), min(ends, to_minute))
