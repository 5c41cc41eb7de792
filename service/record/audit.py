"""Who changed what: a row for each change, written in the transaction of the change itself.

What a request writes is attributed through a context: the first thing that a request commits takes its row
along, so there is no change without its row and no commit more than without it.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, delete, func, insert, select

from service.record.tables import audit

KEPT = 10_000
"""Rows kept: the trail of years of home use, and at most some megabytes."""

PRUNED_EVERY = 100


@dataclass(frozen=True, slots=True)
class AuditRow:
    """One change.

    who: an account's name. how: ``session``, ``token``, ``this machine``, ``command``. peer: from where.
    did: in words or as method and path. fields: names of what was given, never its values.
    """

    at: datetime
    who: str
    how: str
    peer: str
    did: str
    fields: tuple[str, ...] = ()
    id: int | None = None


class Attributed:
    """The row that the first commit of a request takes along; made when it is needed."""

    def __init__(self, row: Callable[[], AuditRow]) -> None:
        self._row: Callable[[], AuditRow] | None = row

    def written(self) -> None:
        """It is committed: once is enough."""
        self._row = None

    @property
    def waiting(self) -> AuditRow | None:
        """The row, while it is not committed."""
        return None if self._row is None else self._row()


_PRESENT: ContextVar[Attributed | None] = ContextVar("attributed", default=None)


def present() -> Attributed | None:
    """What the present context's writes are attributed to."""
    return _PRESENT.get()


@contextmanager
def attributed(to: Attributed | None) -> Iterator[None]:
    """What is written inside is attributed so; None: to nobody."""
    before = _PRESENT.set(to)
    try:
        yield
    finally:
        _PRESENT.reset(before)


def add_audit(connection: Connection, row: AuditRow) -> None:
    """Write a row, and drop the oldest beyond what is kept."""
    written = connection.execute(
        insert(audit).values(
            at=row.at, who=row.who, how=row.how, peer=row.peer, did=row.did, fields=list(row.fields)
        )
    )
    key = written.inserted_primary_key
    number = int(key[0]) if key is not None else 0
    if number % PRUNED_EVERY == 0:
        connection.execute(delete(audit).where(audit.c.id <= number - KEPT))


def audit_rows(connection: Connection, limit: int, before: int | None) -> Sequence[AuditRow]:
    """The newest rows, or those before a number."""
    query = select(audit).order_by(audit.c.id.desc()).limit(limit)
    if before is not None:
        query = query.where(audit.c.id < before)
    return [
        AuditRow(r.at, r.who, r.how, r.peer, r.did, tuple(r.fields), r.id) for r in connection.execute(query)
    ]


def audit_count(connection: Connection) -> int:
    """How many rows there are."""
    return int(connection.execute(select(func.count()).select_from(audit)).scalar_one())
