"""The outbox of the record as the deliverer sees it."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, func, select, update

from service.notify.envelope import Envelope
from service.notify.outbox import Delivery
from service.record.database import Record
from service.record.outbox import GAVE_UP, SENT, WAITING
from service.record.tables import message


class StoredOutbox:
    """The outbox as the deliverer sees it."""

    def __init__(self, record: Record) -> None:
        self._record = record

    def due(self, now: datetime, limit: int) -> Sequence[Delivery]:
        """Messages that may leave now, in order; a channel whose oldest message waits is passed over."""
        with self._record.reading() as connection:
            waiting = connection.execute(
                select(message).where(message.c.state == WAITING).order_by(message.c.id)
            ).all()
        ready = []
        held = set()
        for row in waiting:
            if row.channel_id in held:
                continue
            if row.next_at > now:
                held.add(row.channel_id)
                continue
            ready.append(_delivery(row._mapping))
        return ready[:limit]

    def next_due_at(self) -> datetime | None:
        """The earliest time at which `due` gives something."""
        earliest: dict[str, datetime] = {}
        with self._record.reading() as connection:
            for row in connection.execute(
                select(message.c.channel_id, message.c.next_at)
                .where(message.c.state == WAITING)
                .order_by(message.c.id)
            ):
                earliest.setdefault(row.channel_id, row.next_at)
        return min(earliest.values(), default=None)

    def sent(self, delivery_id: int, at: datetime, far_end: str, took_ms: int) -> None:
        """The far end said yes."""
        self._settle(delivery_id, {"state": SENT, "done_at": at, "far_end": far_end, "took_ms": took_ms})

    def retry(self, delivery_id: int, at: datetime, next_at: datetime, error: str) -> None:
        """An attempt failed; another follows at `next_at`."""
        where = (message.c.id == delivery_id) & (message.c.state == WAITING)

        def work(connection: Connection) -> None:
            connection.execute(
                update(message)
                .where(where)
                .values(
                    attempts=message.c.attempts + 1,
                    next_at=next_at,
                    far_end=error,
                    first_failed_at=func.coalesce(message.c.first_failed_at, at),
                )
            )

        self._record.write(work)

    def gave_up(self, delivery_id: int, at: datetime, error: str) -> None:
        """No further attempt will help."""
        self._settle(
            delivery_id,
            {"state": GAVE_UP, "done_at": at, "far_end": error, "attempts": message.c.attempts + 1},
        )

    def _settle(self, delivery_id: int, values: Mapping[str, Any]) -> None:
        where = (message.c.id == delivery_id) & (message.c.state == WAITING)
        self._record.write(
            lambda connection: connection.execute(update(message).where(where).values(next_at=None, **values))
        )


def _delivery(row: Mapping[Any, Any]) -> Delivery:
    return Delivery(
        delivery_id=row["id"],
        channel_id=row["channel_id"],
        envelope=Envelope(
            id=f"m-{row['id']}",
            reason=row["reason"],
            vessel=row["vessel_id"],
            title=row["title"],
            text=row["text"],
            alarms=tuple(row["alarms"]),
            at=row["at"],
        ),
        attempts=row["attempts"],
        created_at=row["at"],
        first_failed_at=row["first_failed_at"],
    )
