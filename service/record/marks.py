"""Small things to remember (the last commit, when a job ran), faults by hour, and repeated requests."""

from collections import Counter
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, delete, func, insert, select, update

from sensors.sample import FaultKind, ProbeFault
from service.record.tables import answered, doubtful, fault, mark
from service.record.types import to_ms

HOUR_MS = 3_600_000


def read_mark(connection: Connection, name: str) -> Any:
    """What was remembered under a name, or None."""
    return connection.execute(select(mark.c.value).where(mark.c.name == name)).scalar()


def set_mark(connection: Connection, name: str, value: Any) -> None:
    """Remember a JSON value under a name."""
    done = connection.execute(update(mark).where(mark.c.name == name).values(value=value))
    if done.rowcount == 0:
        connection.execute(insert(mark).values(name=name, value=value))


def forget_mark(connection: Connection, name: str) -> None:
    """Forget what was remembered under a name."""
    connection.execute(delete(mark).where(mark.c.name == name))


def count_faults(connection: Connection, faults: list[ProbeFault]) -> None:
    """Add faults to the counts of their hours; the newest one's detail is kept."""
    grouped: dict[tuple[str, int, str], ProbeFault] = {}
    counts: Counter[tuple[str, int, str]] = Counter()
    for one in faults:
        key = (str(one.probe_id), to_ms(one.at) // HOUR_MS, one.kind.value)
        counts[key] += 1
        grouped[key] = one
    for (probe_id, at_hour, kind), last in grouped.items():
        where = (fault.c.probe_id == probe_id) & (fault.c.hour == at_hour) & (fault.c.kind == kind)
        added = counts[(probe_id, at_hour, kind)]
        done = connection.execute(
            update(fault)
            .where(where)
            .values(count=fault.c.count + added, last_at=last.at, detail=last.detail)
        )
        if done.rowcount == 0:
            connection.execute(
                insert(fault).values(
                    probe_id=probe_id,
                    hour=at_hour,
                    kind=kind,
                    count=added,
                    last_at=last.at,
                    detail=last.detail,
                )
            )


def faults_since(connection: Connection, since: datetime) -> dict[str, dict[FaultKind, int]]:
    """Counted faults by probe and kind in the hours that touch [since, now]."""
    rows = connection.execute(
        select(fault.c.probe_id, fault.c.kind, func.sum(fault.c.count))
        .where(fault.c.hour >= to_ms(since) // HOUR_MS)
        .group_by(fault.c.probe_id, fault.c.kind)
    )
    found: dict[str, dict[FaultKind, int]] = {}
    for probe_id, kind, count in rows:
        found.setdefault(probe_id, {})[FaultKind(kind)] = int(count)
    return found


def add_doubtful(connection: Connection, from_at: datetime, to_at: datetime, why: str) -> None:
    """Mark a stretch whose times cannot be relied on."""
    connection.execute(insert(doubtful).values(from_at=from_at, to_at=to_at, why=why))


def answer_to(connection: Connection, key: str) -> Mapping[str, Any] | None:
    """What was answered to a request with this idempotency key, or None."""
    row = connection.execute(select(answered).where(answered.c.key == key)).first()
    return None if row is None else dict(row._mapping)


def keep_answer(
    connection: Connection,
    key: str,
    fingerprint: str,
    status: int,
    headers: Mapping[str, str],
    body: str,
    at: datetime,
) -> None:
    """Keep an answer so that a repeat of its request gets the same."""
    connection.execute(
        insert(answered).values(
            key=key, fingerprint=fingerprint, status=status, headers=dict(headers), body=body, at=at
        )
    )


def forget_answers(connection: Connection, before: datetime) -> int:
    """Drop kept answers older than a time; returns how many."""
    return connection.execute(delete(answered).where(answered.c.at < before)).rowcount


ANSWERS_KEPT = timedelta(days=1)
