"""What people write down about a batch, list by list, from its first reading to its last tasting."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, func, insert, select, update

from service.errors import NotFoundError
from service.record.tables import entry

LISTS = ("readings", "notes", "sightings", "additions", "packagings", "squeezes", "openings", "tastings")


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry: its number in its list, its own time, what was written, and when that arrived."""

    n: int
    at: datetime
    body: Mapping[str, Any]
    created_at: datetime


def entries(connection: Connection, batch_id: str, name: str) -> list[Entry]:
    """The entries of one list of a batch, newest first."""
    rows = connection.execute(
        select(entry.c.n, entry.c.at, entry.c.body, entry.c.created_at)
        .where(entry.c.batch_id == batch_id, entry.c.list == name, entry.c.removed_at.is_(None))
        .order_by(entry.c.at.desc(), entry.c.n.desc())
    )
    return [Entry(*row) for row in rows]


def entry_by_number(connection: Connection, batch_id: str, name: str, n: int) -> Entry:
    """One entry; NotFoundError when there is none."""
    found = next((one for one in entries(connection, batch_id, name) if one.n == n), None)
    if found is None:
        raise NotFoundError(f"The batch {batch_id!r} has no {name.removesuffix('s')} {n}.")
    return found


def add_entry(
    connection: Connection, batch_id: str, name: str, at: datetime, body: Mapping[str, Any], now: datetime
) -> int:
    """Store an entry; returns its number."""
    last = connection.execute(
        select(func.max(entry.c.n)).where(entry.c.batch_id == batch_id, entry.c.list == name)
    ).scalar()
    n = (last or 0) + 1
    connection.execute(
        insert(entry).values(batch_id=batch_id, list=name, n=n, at=at, body=dict(body), created_at=now)
    )
    return n


def change_entry(
    connection: Connection, batch_id: str, name: str, n: int, at: datetime, body: Mapping[str, Any]
) -> None:
    """Replace what an entry says."""
    connection.execute(_this(batch_id, name, n).values(at=at, body=dict(body)))


def remove_entry(connection: Connection, batch_id: str, name: str, n: int, now: datetime) -> None:
    """Take an entry out; its number is not used again."""
    entry_by_number(connection, batch_id, name, n)
    connection.execute(_this(batch_id, name, n).values(removed_at=now))


def _this(batch_id: str, name: str, n: int) -> Any:
    return update(entry).where(entry.c.batch_id == batch_id, entry.c.list == name, entry.c.n == n)
