"""The messages that wait to leave, as the deliverer sees them; the record keeps them."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Protocol

from service.notify.envelope import Envelope

FURTHEST = timedelta(hours=2)
"""No further attempt is ever planned this far ahead."""


@dataclass(frozen=True, slots=True)
class Delivery:
    """One message on its way to one channel.

    delivery_id: grows with every new delivery, and is the order in which a channel gets them.
    attempts: attempts that failed so far. created_at: when it was committed. first_failed_at: when the
    first attempt failed, None before. Times are aware UTC.
    """

    delivery_id: int
    channel_id: str
    envelope: Envelope
    attempts: int
    created_at: datetime
    first_failed_at: datetime | None


class Outbox(Protocol):
    """Deliveries that are committed and not settled. Every method may be called from any thread.

    A delivery is unsettled until `sent` or `gave_up` is called for it. Settling twice changes nothing.
    """

    def due(self, now: datetime, limit: int) -> Sequence[Delivery]:
        """At most `limit` unsettled deliveries that may leave now, in the order of delivery_id.

        A channel's order is kept: while one that failed waits for its next attempt, the younger ones of its
        channel are not due either. One that was never tried and is to leave later holds nobody up. A next
        attempt further ahead than FURTHEST is due now: the clock was set back since it was planned.
        """
        ...

    def next_due_at(self) -> datetime | None:
        """The earliest time at which `due` gives something (it may be past), or None when all are settled."""
        ...

    def sent(self, delivery_id: int, at: datetime, far_end: str, took_ms: int) -> None:
        """The far end said yes: settled."""
        ...

    def retry(self, delivery_id: int, at: datetime, next_at: datetime, error: str) -> None:
        """An attempt at `at` failed: count it; keep its sentence, and when the first failed."""
        ...

    def gave_up(self, delivery_id: int, at: datetime, error: str) -> None:
        """An attempt failed and no more will follow: settled, with the sentence that says why."""
        ...
