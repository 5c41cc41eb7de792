"""Minutes and hours: what is kept for ever of every probe, in uncalibrated milli-degrees.

A missing minute is a missing row. Hours are rolled up from the minutes in the same transaction, so
that they never disagree.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sqlalchemy import Connection, bindparam, delete, func, insert, select

from service.record.tables import hour, minute, undated_minute

MINUTES_PER_HOUR = 60


@dataclass(frozen=True, slots=True)
class MinuteRow:
    """The folded samples of one probe-minute.

    probe: the probe's number. minute: whole minutes since 1970 UTC. mean_mc: their mean; below_mc and
    above_mc: how far the lowest and highest lie from it; all milli-degrees Celsius, uncalibrated.
    """

    probe: int
    minute: int
    mean_mc: int
    below_mc: int
    above_mc: int
    count: int


@dataclass(frozen=True, slots=True)
class Bucket:
    """Minutes of one stretch taken together: their mean, lowest and highest value, and how many they are."""

    start_minute: int
    mean_mc: float
    min_mc: int
    max_mc: int
    minutes: int


@dataclass(frozen=True, slots=True)
class HourRow:
    """The minutes of one probe-hour: the sum of their means, how many, their lowest and highest value."""

    hour: int
    sum_mc: int
    minutes: int
    min_mc: int
    max_mc: int


def write_minutes(connection: Connection, rows: Sequence[MinuteRow]) -> None:
    """Store minutes (what stood there before is replaced) and roll up the hours they touch."""
    if not rows:
        return
    rows = list({(row.probe, row.minute): row for row in rows}.values())
    keys = [{"p": row.probe, "m": row.minute} for row in rows]
    connection.execute(
        delete(minute).where(minute.c.probe == bindparam("p"), minute.c.minute == bindparam("m")), keys
    )
    connection.execute(
        insert(minute),
        [
            {
                "probe": row.probe,
                "minute": row.minute,
                "mean_mc": row.mean_mc,
                "below_mc": row.below_mc,
                "above_mc": row.above_mc,
                "count": row.count,
            }
            for row in rows
        ],
    )
    roll_up(connection, {(row.probe, row.minute // MINUTES_PER_HOUR) for row in rows})


def remove_minutes(connection: Connection, keys: Iterable[tuple[int, int]]) -> None:
    """Take minutes (probe number, minute) out again; the hours follow."""
    gone = set(keys)
    if not gone:
        return
    connection.execute(
        delete(minute).where(minute.c.probe == bindparam("p"), minute.c.minute == bindparam("m")),
        [{"p": probe, "m": at} for probe, at in gone],
    )
    roll_up(connection, {(probe, at // MINUTES_PER_HOUR) for probe, at in gone})


def roll_up(connection: Connection, hours: set[tuple[int, int]]) -> None:
    """Make these hours (probe number, hour since 1970) anew from their minutes."""
    connection.execute(
        delete(hour).where(hour.c.probe == bindparam("p"), hour.c.hour == bindparam("h")),
        [{"p": probe, "h": at} for probe, at in hours],
    )
    fresh = []
    for probe, at in hours:
        row = connection.execute(
            select(
                func.count(),
                func.sum(minute.c.mean_mc),
                func.min(minute.c.mean_mc - minute.c.below_mc),
                func.max(minute.c.mean_mc + minute.c.above_mc),
            ).where(
                minute.c.probe == probe,
                minute.c.minute >= at * MINUTES_PER_HOUR,
                minute.c.minute < (at + 1) * MINUTES_PER_HOUR,
            )
        ).one()
        if row[0]:
            fresh.append(
                {
                    "probe": probe,
                    "hour": at,
                    "minutes": row[0],
                    "sum_mc": int(row[1]),
                    "min_mc": row[2],
                    "max_mc": row[3],
                }
            )
    if fresh:
        connection.execute(insert(hour), fresh)


def minutes_of(connection: Connection, probe: int, from_minute: int, to_minute: int) -> list[MinuteRow]:
    """The stored minutes of a probe in [from_minute, to_minute), oldest first."""
    rows = connection.execute(
        select(minute)
        .where(minute.c.probe == probe, minute.c.minute >= from_minute, minute.c.minute < to_minute)
        .order_by(minute.c.minute)
    )
    return [MinuteRow(*row) for row in rows]


def hours_of(connection: Connection, probe: int, from_minute: int, to_minute: int) -> list[HourRow]:
    """The stored hours of a probe that touch [from_minute, to_minute), oldest first."""
    rows = connection.execute(
        select(hour.c.hour, hour.c.sum_mc, hour.c.minutes, hour.c.min_mc, hour.c.max_mc)
        .where(
            hour.c.probe == probe,
            hour.c.hour >= from_minute // MINUTES_PER_HOUR,
            hour.c.hour < -(-to_minute // MINUTES_PER_HOUR),
        )
        .order_by(hour.c.hour)
    )
    return [HourRow(row[0], int(row[1]), row[2], row[3], row[4]) for row in rows]


def newest_minute(connection: Connection, probe: int | None = None) -> int | None:
    """The newest stored minute of a probe, or of all."""
    if probe is None:
        probes = connection.execute(select(func.max(minute.c.probe))).scalar()
        if probes is None:
            return None
        newest = [newest_minute(connection, number) for number in range(1, probes + 1)]
        return max((at for at in newest if at is not None), default=None)
    found = connection.execute(select(func.max(minute.c.minute)).where(minute.c.probe == probe)).scalar()
    return None if found is None else int(found)


def buckets(
    connection: Connection, probe: int, from_minute: int, to_minute: int, width_minutes: int
) -> list[Bucket]:
    """The stretch [from_minute, to_minute) in aligned buckets of `width_minutes`, empty ones left out.

    Widths of whole hours read the hours, and minutes only at ragged edges.
    """
    if width_minutes % MINUTES_PER_HOUR:
        return _from_minutes(connection, probe, from_minute, to_minute, width_minutes)
    first_hour = -(-from_minute // MINUTES_PER_HOUR)
    last_hour = to_minute // MINUTES_PER_HOUR
    if first_hour >= last_hour:
        return _from_minutes(connection, probe, from_minute, to_minute, width_minutes)
    return merged(
        [
            *_from_minutes(connection, probe, from_minute, first_hour * MINUTES_PER_HOUR, width_minutes),
            *_from_hours(connection, probe, first_hour, last_hour, width_minutes),
            *_from_minutes(connection, probe, last_hour * MINUTES_PER_HOUR, to_minute, width_minutes),
        ]
    )


def merged(parts: Iterable[Bucket]) -> list[Bucket]:
    """Neighbouring parts of the same bucket put together; order kept."""
    whole: list[Bucket] = []
    for part in parts:
        if whole and whole[-1].start_minute == part.start_minute:
            before = whole.pop()
            count = before.minutes + part.minutes
            part = Bucket(
                start_minute=part.start_minute,
                mean_mc=(before.mean_mc * before.minutes + part.mean_mc * part.minutes) / count,
                min_mc=min(before.min_mc, part.min_mc),
                max_mc=max(before.max_mc, part.max_mc),
                minutes=count,
            )
        whole.append(part)
    return whole


def _from_minutes(
    connection: Connection, probe: int, from_minute: int, to_minute: int, width: int
) -> list[Bucket]:
    if from_minute >= to_minute:
        return []
    start = minute.c.minute - minute.c.minute % width
    rows = connection.execute(
        select(
            start,
            func.sum(minute.c.mean_mc),
            func.min(minute.c.mean_mc - minute.c.below_mc),
            func.max(minute.c.mean_mc + minute.c.above_mc),
            func.count(),
        )
        .where(minute.c.probe == probe, minute.c.minute >= from_minute, minute.c.minute < to_minute)
        .group_by(start)
        .order_by(start)
    )
    return [Bucket(row[0], int(row[1]) / row[4], row[2], row[3], row[4]) for row in rows]


def _from_hours(
    connection: Connection, probe: int, first_hour: int, last_hour: int, width: int
) -> list[Bucket]:
    hours_wide = width // MINUTES_PER_HOUR
    start = hour.c.hour - hour.c.hour % hours_wide
    rows = connection.execute(
        select(
            start,
            func.sum(hour.c.sum_mc),
            func.min(hour.c.min_mc),
            func.max(hour.c.max_mc),
            func.sum(hour.c.minutes),
        )
        .where(hour.c.probe == probe, hour.c.hour >= first_hour, hour.c.hour < last_hour)
        .group_by(start)
        .order_by(start)
    )
    return [
        Bucket(row[0] * MINUTES_PER_HOUR, int(row[1]) / int(row[4]), row[2], row[3], int(row[4]))
        for row in rows
    ]


def keep_undated(connection: Connection, boot_id: str, rows: Sequence[MinuteRow]) -> None:
    """Store minutes counted from the boot, while wall time cannot be believed."""
    for row in rows:
        key = (
            (undated_minute.c.boot_id == boot_id)
            & (undated_minute.c.boot_minute == row.minute)
            & (undated_minute.c.probe == row.probe)
        )
        connection.execute(delete(undated_minute).where(key))
        connection.execute(
            insert(undated_minute).values(
                boot_id=boot_id,
                boot_minute=row.minute,
                probe=row.probe,
                mean_mc=row.mean_mc,
                below_mc=row.below_mc,
                above_mc=row.above_mc,
                count=row.count,
            )
        )


def has_undated(connection: Connection, boot_id: str) -> bool:
    """Whether minutes of this boot still wait for their wall time."""
    return (
        connection.execute(select(undated_minute.c.probe).where(undated_minute.c.boot_id == boot_id)).first()
        is not None
    )


def date_undated(connection: Connection, boot_id: str, boot_at_minute: int) -> int:
    """Give this boot's undated minutes their wall time; returns how many there were.

    boot_at_minute: the wall minute in which the boot clock stood at nought. A minute that is there
    already is kept.
    """
    rows = connection.execute(select(undated_minute).where(undated_minute.c.boot_id == boot_id)).all()
    fresh = [
        MinuteRow(
            probe=row.probe,
            minute=boot_at_minute + row.boot_minute,
            mean_mc=row.mean_mc,
            below_mc=row.below_mc,
            above_mc=row.above_mc,
            count=row._mapping["count"],
        )
        for row in rows
    ]
    fresh = [row for row in fresh if not minutes_of(connection, row.probe, row.minute, row.minute + 1)]
    write_minutes(connection, fresh)
    connection.execute(delete(undated_minute).where(undated_minute.c.boot_id == boot_id))
    return len(rows)
