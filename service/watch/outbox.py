"""The outbox of the record as the deliverer sees it."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, func, literal, select, update

from service.notify.envelope import Envelope
from service.notify.outbox import FURTHEST, Delivery
from service.record.database import Record
from service.record.outbox import GAVE_UP, SENT, WAITING
from service.record.tables import message
from service.record.types import UtcTime


class StoredOutbox:
    """The outbox as the deliverer sees it."""

    def __init__(self, record: Record) -> None:
        self._record = record

    def due(self, now: datetime, limit: int) -> Sequence[Delivery]:
        """Messages that may leave now, in order.

        While one waits to be tried again, the later ones of its channel wait behind it. One that has not
        been tried yet and still gathers what arises beside it holds nobody up. A time further ahead than
        any that is ever planned means that the clock was set back since: such a message leaves now.
        """
        ready = []
        held = set()
        for row in self._waiting():
            if row["channel_id"] in held:
                continue
            if now < row["next_at"] <= now + FURTHEST:
                if row["attempts"]:
                    held.add(row["channel_id"])
                continue
            ready.append(_delivery(row))
        return ready[:limit]

    def next_due_at(self) -> datetime | None:
        """The earliest time at which `due` gives something."""
        times = []
        held: dict[str, datetime] = {}
        for row in self._waiting():
            at = max(row["next_at"], held.get(row["channel_id"], row["next_at"]))
            times.append(at)
            if row["attempts"]:
                held[row["channel_id"]] = at
        return min(times, default=None)

    def _waiting(self) -> list[Mapping[str, Any]]:
        with self._record.reading() as connection:
            rows = connection.execute(
                select(message).where(message.c.state == WAITING).order_by(message.c.id)
            )
            return [dict(row._mapping) for row in rows]

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
                    first_failed_at=func.coalesce(message.c.first_failed_at, literal(at, UtcTime())),
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
