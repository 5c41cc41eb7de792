"""Samples that arrive over the network: kept raw by (probe, time), their minutes folded anew.

A repeat changes nothing, a late one is stored at its own time, and the answer follows the commit.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection, bindparam, delete, insert, select

from sensors.bus import RawValue
from sensors.sample import ProbeFault, ProbeId
from sensors.screening import Believed
from service.record.minutes import minutes_of, write_minutes
from service.record.tables import pushed
from service.record.types import to_ms
from service.watch.fold import MINUTE_MS, fold_all, milli, minute_of

AHEAD = timedelta(minutes=5)
KEPT_RAW = timedelta(days=30)
PAST_LEAST_S = 600.0
HOUR_MS = 60 * MINUTE_MS

Screening = Callable[[RawValue], Believed | ProbeFault]


@dataclass(frozen=True, slots=True)
class Arrived:
    """What became of samples. taken: the believed new ones, oldest first; faults: those not believed."""

    new: int
    known: int
    refused: tuple[tuple[int, str], ...]
    taken: tuple[RawValue, ...]
    faults: tuple[ProbeFault, ...]


@dataclass(frozen=True, slots=True)
class Row:
    """One raw sample as kept."""

    at_ms: int
    raw_mc: int
    fault: str | None


def look_at(
    probe_id: ProbeId,
    samples: Sequence[tuple[int, datetime, float]],
    stored: dict[int, int],
    screening: Screening,
    now: datetime,
    past_after_s: float,
) -> tuple[Arrived, list[Row]]:
    """Sort (index, time, value) into new, known and refused; stored is what is kept, time to value.

    Only what is not past on arrival is screened against what came before it: an old sample is looked at
    for itself.
    """
    refused: list[tuple[int, str]] = []
    known = 0
    fresh: dict[int, tuple[datetime, float]] = {}
    for index, at, value in samples:
        at_ms = to_ms(at)
        if not math.isfinite(value):
            refused.append((index, "not-a-number"))
        elif at > now + AHEAD:
            refused.append((index, "future"))
        elif not -55.0 <= value <= 125.0:
            refused.append((index, "out-of-range"))
        elif at_ms in stored or at_ms in fresh:
            was = stored[at_ms] if at_ms in stored else milli(fresh[at_ms][1])
            if was == milli(value):
                known += 1
            else:
                refused.append((index, "conflict"))
        else:
            fresh[at_ms] = (at, value)
    taken: list[RawValue] = []
    faults: list[ProbeFault] = []
    rows: list[Row] = []
    for at_ms, (at, value) in sorted(fresh.items()):
        raw = RawValue(probe_id, at, value)
        fault = None
        if (now - at).total_seconds() <= past_after_s:
            seen = screening(raw)
            if isinstance(seen, ProbeFault):
                fault = seen
                faults.append(seen)
        if fault is None:
            taken.append(raw)
        rows.append(Row(at_ms, milli(value), None if fault is None else fault.kind.value))
    return Arrived(len(fresh), known, tuple(refused), tuple(taken), tuple(faults)), rows


def stored_values(connection: Connection, number: int, times_ms: Sequence[int]) -> dict[int, int]:
    """The kept values at these times, looked for in one stretch."""
    if not times_ms:
        return {}
    rows = connection.execute(
        select(pushed.c.at_ms, pushed.c.raw_mc).where(
            pushed.c.probe == number, pushed.c.at_ms >= min(times_ms), pushed.c.at_ms <= max(times_ms)
        )
    )
    return {row[0]: row[1] for row in rows}


def store(connection: Connection, number: int, rows: Sequence[Row], now: datetime) -> None:
    """Keep raw samples and fold their minutes anew from all that is kept of those minutes.

    Where raw samples have been dropped already, a minute that is there stays as it is.
    """
    if not rows:
        return
    connection.execute(
        insert(pushed),
        [{"probe": number, "at_ms": r.at_ms, "raw_mc": r.raw_mc, "fault": r.fault} for r in rows],
    )
    touched = {row.at_ms // MINUTE_MS for row in rows if row.fault is None}
    if not touched:
        return
    values: list[tuple[int, int]] = []
    for hour in sorted({at // 60 for at in touched}):
        values += [
            (row[0], row[1])
            for row in connection.execute(
                select(pushed.c.at_ms, pushed.c.raw_mc).where(
                    pushed.c.probe == number,
                    pushed.c.at_ms >= hour * HOUR_MS,
                    pushed.c.at_ms < (hour + 1) * HOUR_MS,
                    pushed.c.fault.is_(None),
                )
            )
            if row[0] // MINUTE_MS in touched
        ]
    fresh = fold_all(number, values)
    dropped_before = minute_of(now - KEPT_RAW)
    write_minutes(
        connection,
        [
            row
            for row in fresh
            if row.minute > dropped_before or not minutes_of(connection, number, row.minute, row.minute + 1)
        ],
    )


def forget_raw(connection: Connection, now: datetime) -> int:
    """Drop raw samples older than thirty days; their minutes stay. Returns how many."""
    return connection.execute(
        delete(pushed).where(pushed.c.at_ms < bindparam("before")), {"before": to_ms(now - KEPT_RAW)}
    ).rowcount
