"""An outbox in memory and channels without a far end: small, but they work as the real ones promise."""

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from service.notify.envelope import Delivered, Envelope, SendFailedError
from service.notify.outbox import FURTHEST, Delivery


@dataclass(frozen=True, slots=True)
class Settled:
    """How a delivery ended. arrived: sent, or else given up. words: the far end's, or why it was given up."""

    delivery: Delivery
    at: datetime
    arrived: bool
    words: str


class MemoryOutbox:
    """Keeps deliveries as the Outbox protocol says. `broken` makes every call raise, as a lost disk would."""

    def __init__(self) -> None:
        self._lock = threading.RLock()
        self._waiting: dict[int, tuple[Delivery, datetime]] = {}
        self._last_id = 0
        self.settled: list[Settled] = []
        self.errors: list[str] = []
        self.broken = False

    def put(self, channel_id: str, envelope: Envelope, at: datetime, leave_at: datetime | None = None) -> int:
        """Commit a message for a channel, to leave at once or later; gives its delivery_id."""
        with self._lock:
            self._last_id += 1
            self._waiting[self._last_id] = (
                Delivery(self._last_id, channel_id, envelope, 0, at, None),
                leave_at or at,
            )
            return self._last_id

    def waiting(self) -> list[Delivery]:
        """What is not settled, in order."""
        with self._lock:
            return [delivery for delivery, _ in self._waiting.values()]

    def due(self, now: datetime, limit: int) -> Sequence[Delivery]:
        with self._lock:
            self._check()
            blocked: set[str] = set()
            found: list[Delivery] = []
            for delivery, due_at in self._waiting.values():
                clock_set_back = delivery.attempts > 0 and due_at > now + FURTHEST
                if due_at <= now or clock_set_back:
                    if delivery.channel_id not in blocked:
                        found.append(delivery)
                elif delivery.attempts > 0:
                    blocked.add(delivery.channel_id)
            return found[:limit]

    def next_due_at(self) -> datetime | None:
        with self._lock:
            self._check()
            blocked_until: dict[str, datetime] = {}
            times: list[datetime] = []
            for delivery, due_at in self._waiting.values():
                times.append(max(due_at, blocked_until.get(delivery.channel_id, due_at)))
                if delivery.attempts > 0:
                    blocked_until[delivery.channel_id] = times[-1]
            return min(times, default=None)

    def sent(self, delivery_id: int, at: datetime, far_end: str, took_ms: int) -> None:
        self._settle(delivery_id, at, True, far_end)

    def retry(self, delivery_id: int, at: datetime, next_at: datetime, error: str) -> None:
        with self._lock:
            self._check()
            if delivery_id not in self._waiting:
                return
            delivery, _ = self._waiting[delivery_id]
            failed = replace(
                delivery, attempts=delivery.attempts + 1, first_failed_at=delivery.first_failed_at or at
            )
            self._waiting[delivery_id] = (failed, next_at)
            self.errors.append(error)

    def gave_up(self, delivery_id: int, at: datetime, error: str) -> None:
        self._settle(delivery_id, at, False, error)

    def _settle(self, delivery_id: int, at: datetime, arrived: bool, words: str) -> None:
        with self._lock:
            self._check()
            known = self._waiting.pop(delivery_id, None)
            if known is not None:
                self.settled.append(Settled(known[0], at, arrived, words))

    def _check(self) -> None:
        if self.broken:
            raise OSError("disk I/O error")


class KeepingChannel:
    """Keeps what it is given. fails: the errors of the next sends, in order; then it says yes."""

    kind = "kept"

    def __init__(self, *fails: SendFailedError) -> None:
        self.fails = list(fails)
        self.kept: list[Envelope] = []
        self.attempts: list[Envelope] = []
        self.closed = False

    def send(self, envelope: Envelope) -> Delivered:
        self.attempts.append(envelope)
        if self.fails:
            raise self.fails.pop(0)
        self.kept.append(envelope)
        return Delivered("kept", 1)

    def close(self) -> None:
        self.closed = True


class HeldChannel(KeepingChannel):
    """Says yes only once it is let go; `entered` tells that a send waits."""

    def __init__(self) -> None:
        super().__init__()
        self.entered = threading.Event()
        self.let_go = threading.Event()

    def send(self, envelope: Envelope) -> Delivered:
        self.entered.set()
        self.let_go.wait(30)
        return super().send(envelope)


class AwayChannel(KeepingChannel):
    """A far end that is away until `back_at`, by the clock it is given."""

    def __init__(self, clock: Callable[[], datetime], back_at: datetime) -> None:
        super().__init__()
        self._clock = clock
        self._back_at = back_at

    def send(self, envelope: Envelope) -> Delivered:
        if self._clock() < self._back_at:
            self.attempts.append(envelope)
            raise SendFailedError("away", transient=True)
        return super().send(envelope)


class HandClock:
    """A clock that a test moves."""

    def __init__(self, at: datetime) -> None:
        self.at = at

    def __call__(self) -> datetime:
        return self.at

    def forward(self, **by: float) -> None:
        self.at += timedelta(**by)
