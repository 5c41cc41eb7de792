"""Samples that arrive over the network: kept raw by (probe, time), their minutes folded anew.

A repeat changes nothing, a late one is stored at its own time, and the answer follows the commit.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, Select, bindparam, delete, insert, select

from sensors.bus import RawValue
from sensors.sample import FaultKind, ProbeFault, ProbeId
from sensors.screening import Believed
from service.record.minutes import minutes_of, write_minutes
from service.record.tables import pushed
from service.record.types import to_ms
from service.watch.fold import MINUTE_MS, fold_all, milli, minute_of

AHEAD = timedelta(minutes=5)
KEPT_RAW = timedelta(days=30)
PAST_LEAST_S = 600.0

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
    for itself. What is refused as no temperature is a fault of the probe too, unless it is past: whoever
    sends may not read the answer, and over MQTT there is none.
    """
    refused: list[tuple[int, str]] = []
    faults: list[ProbeFault] = []
    known = 0
    fresh: dict[int, tuple[datetime, float]] = {}
    for index, at, value in samples:
        at_ms = to_ms(at)
        if not math.isfinite(value):
            refused.append((index, "not-a-number"))
            if (now - at).total_seconds() <= past_after_s:
                faults.append(ProbeFault(probe_id, min(at, now), FaultKind.UNREADABLE, "not a number"))
        elif at > now + AHEAD:
            refused.append((index, "future"))
        elif not -55.0 <= value <= 125.0:
            refused.append((index, "out-of-range"))
            if (now - at).total_seconds() <= past_after_s:
                seen = screening(RawValue(probe_id, min(at, now), value))
                if isinstance(seen, ProbeFault):
                    faults.append(seen)
        elif at_ms in stored or at_ms in fresh:
            was = stored[at_ms] if at_ms in stored else milli(fresh[at_ms][1])
            if was == milli(value):
                known += 1
            else:
                refused.append((index, "conflict"))
        else:
            fresh[at_ms] = (at, value)
    taken: list[RawValue] = []
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
    """The kept values around these times: all of those at them, and some between."""
    found: dict[int, int] = {}
    for first, last in stretches({at_ms // MINUTE_MS for at_ms in times_ms}):
        found.update((row[0], row[1]) for row in connection.execute(_kept_in(number, first, last)))
    return found


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
    dropped_before = minute_of(now - KEPT_RAW)
    values: list[tuple[int, int]] = []
    for first, last in stretches(touched):
        there = set()
        if first <= dropped_before:
            until = min(last, dropped_before + 1)
            there = {row.minute for row in minutes_of(connection, number, first, until)}
        wanted = touched - there
        values += [
            (row[0], row[1])
            for row in connection.execute(_kept_in(number, first, last).where(pushed.c.fault.is_(None)))
            if row[0] // MINUTE_MS in wanted
        ]
    write_minutes(connection, fold_all(number, values))


def stretches(minutes: set[int]) -> list[tuple[int, int]]:
    """Few stretches [first, last) of minutes that hold all of these, so that few queries find them.

    They bridge gaps of up to an hour and are no longer than a day: a batch of one old sample
    and a new one must not fetch the month between them.
    """
    found: list[tuple[int, int]] = []
    for minute in sorted(minutes):
        if found and minute - found[-1][1] < 60 and minute - found[-1][0] < 1440:
            found[-1] = (found[-1][0], minute + 1)
        else:
            found.append((minute, minute + 1))
    return found


def _kept_in(number: int, first: int, last: int) -> Select[Any]:
    return select(pushed.c.at_ms, pushed.c.raw_mc).where(
        pushed.c.probe == number,
        pushed.c.at_ms >= first * MINUTE_MS,
        pushed.c.at_ms < last * MINUTE_MS,
    )


def forget_raw(connection: Connection, now: datetime) -> int:
    """Drop raw samples older than thirty days; their minutes stay. Returns how many."""
    return connection.execute(
        delete(pushed).where(pushed.c.at_ms < bindparam("before")), {"before": to_ms(now - KEPT_RAW)}
    ).rowcount
