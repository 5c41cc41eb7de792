"""Handing committed messages to their channels: at least once, in order, no channel waiting for another."""

import logging
import threading
import time
from collections import deque
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, tzinfo
from typing import Protocol

from service.errors import GylewatchError
from service.notify.bounded import unforeseen
from service.notify.channels.channel import Channel
from service.notify.envelope import UNCLEAR_FOR, Delivered, SendFailedError
from service.notify.merging import Parcel, merge_old, single
from service.notify.outbox import Delivery, Outbox
from service.notify.schedule import ChannelFacts, failing, next_attempt

__all__ = [
    "ChannelFacts",
    "Deliverer",
    "Delivery",
    "Outbox",
    "Parcel",
    "Wake",
    "failing",
    "merge_old",
    "next_attempt",
]

log = logging.getLogger(__name__)

BUSY_S = 1.0
"""How soon to look again while something that is due is in a channel's hands already."""

TROUBLE_S = 5.0


class Wake(Protocol):
    """What ends the wait for the next work early; a `threading.Event` is one."""

    def set(self) -> None: ...

    def clear(self) -> None: ...

    def wait(self, timeout: float | None = None) -> bool: ...


class Deliverer:
    """Delivers what is in the outbox, with one thread for each channel that has work.

    channels: the channel of that id, None when there is none any more; it is asked before every message
    and may raise InvalidInputError. now: the wall clock (aware UTC). wake: set by whoever commits a
    message. jitter: a number from 0 to 1 for each retry. zone: for the original times in merged messages.
    idle_s: the longest wait between two looks. trouble_s: how long an outbox is left alone that could not
    be read or written. batch: how many deliveries are looked at first.
    beat: called after each round, for a watchdog.

    A delivery is marked as sent only after the far end said yes. If marking fails, that is remembered and
    made up for without sending again; only a message in flight while the program dies may be repeated.
    """

    def __init__(
        self,
        outbox: Outbox,
        channels: Callable[[str], Channel | None],
        now: Callable[[], datetime],
        wake: Wake,
        jitter: Callable[[], float],
        *,
        zone: tzinfo = UTC,
        idle_s: float = 30.0,
        trouble_s: float = TROUBLE_S,
        batch: int = 200,
        beat: Callable[[], None] = lambda: None,
    ) -> None:
        self._outbox = outbox
        self._channels = channels
        self._now = now
        self._wake = wake
        self._jitter = jitter
        self._zone = zone
        self._idle_s = idle_s
        self._trouble_s = trouble_s
        self._batch = batch
        self._beat = beat
        self._lock = threading.Lock()
        self._lanes: dict[str, threading.Thread] = {}
        self._unmarked: dict[int, Delivered] = {}
        self._stopping = threading.Event()
        self._loop_thread: threading.Thread | None = None

    def start(self) -> None:
        """Begin to deliver in the background."""
        self._loop_thread = threading.Thread(target=self._loop, name="deliver", daemon=True)
        self._loop_thread.start()

    def stop(self, timeout_s: float = 2.0) -> bool:
        """Stop within `timeout_s` seconds; False when a send was still going on and was abandoned."""
        self._stopping.set()
        self._wake.set()
        until = time.monotonic() + timeout_s
        with self._lock:
            threads = list(self._lanes.values())
        if self._loop_thread is not None:
            threads.append(self._loop_thread)
        for thread in threads:
            thread.join(max(until - time.monotonic(), 0.0))
        return not any(thread.is_alive() for thread in threads)

    def busy(self) -> frozenset[str]:
        """The channels that are sending now."""
        with self._lock:
            return frozenset(self._lanes)

    def run_once(self) -> float:
        """Give every free channel what is due for it; seconds until there can be more to do.

        Called by one thread. The sending itself goes on in the channels' threads afterwards.
        """
        now = self._now()
        # Before looking into the outbox: what a channel settles meanwhile may still be among what is due.
        busy = self.busy()
        waiting: dict[str, list[Delivery]] = {}
        for delivery in self._due_for_others(now, busy):
            waiting.setdefault(delivery.channel_id, []).append(delivery)
        for channel_id, deliveries in waiting.items():
            self._open_lane(channel_id, deliveries)
        next_at = self._outbox.next_due_at()
        if next_at is None:
            return self._idle_s
        wait_s = (next_at - now).total_seconds()
        return min(wait_s if wait_s > 0 else BUSY_S, self._idle_s)

    def _due_for_others(self, now: datetime, busy: frozenset[str]) -> Sequence[Delivery]:
        """What is due for channels that are free, however much waits for those that are busy."""
        limit = self._batch
        while True:
            found = self._outbox.due(now, limit)
            free = [delivery for delivery in found if delivery.channel_id not in busy]
            if free or len(found) < limit:
                return free
            limit *= 4

    def _open_lane(self, channel_id: str, deliveries: list[Delivery]) -> None:
        lane = threading.Thread(
            target=self._lane, args=(channel_id, deliveries), name=f"deliver {channel_id}", daemon=True
        )
        with self._lock:
            self._lanes[channel_id] = lane
        lane.start()

    def _loop(self) -> None:
        while not self._stopping.is_set():
            self._wake.clear()
            try:
                wait_s = self.run_once()
            except Exception as error:  # noqa: BLE001 - delivery must outlive a database that is away
                log.error("the outbox cannot be read (%s)", type(error).__name__)
                wait_s = self._trouble_s
            self._beat()
            if not self._stopping.is_set():
                self._wake.wait(wait_s)

    def _lane(self, channel_id: str, deliveries: list[Delivery]) -> None:
        try:
            self._drain(channel_id, deliveries)
        except Exception as error:  # noqa: BLE001 - delivery must outlive a database that is away
            log.error("channel %s: the outbox cannot be written (%s)", channel_id, type(error).__name__)
            self._stopping.wait(self._trouble_s)
        finally:
            with self._lock:
                del self._lanes[channel_id]
            self._wake.set()

    def _drain(self, channel_id: str, deliveries: list[Delivery]) -> None:
        """Send in order until something must wait; what follows it waits too."""
        unsent = [delivery for delivery in deliveries if not self._mark_if_sent(delivery.delivery_id)]
        parcels = deque(merge_old(unsent, self._now(), self._zone))
        while parcels and not self._stopping.is_set():
            parcel = parcels.popleft()
            failure = self._send(channel_id, parcel)
            if failure is None:
                continue
            head = parcel.deliveries[0]
            at = self._now()
            next_at = next_attempt(head.attempts + 1, failure, head.first_failed_at, at, self._jitter())
            log.warning("channel %s: message %s did not leave: %s", channel_id, parcel.envelope.id, failure)
            if next_at is not None:
                for delivery in parcel.deliveries:
                    self._outbox.retry(delivery.delivery_id, at, next_at, str(failure))
                return
            if len(parcel.deliveries) > 1:
                # What was refused may be the merged message alone (its length, say), not its parts.
                parcels.extendleft(single(delivery) for delivery in reversed(parcel.deliveries))
            else:
                self._outbox.gave_up(head.delivery_id, at, str(failure))

    def _send(self, channel_id: str, parcel: Parcel) -> SendFailedError | None:
        """Send and mark as sent, or say why it did not leave."""
        try:
            channel = self._channels(channel_id)
            if channel is None:
                return SendFailedError(f"The channel {channel_id} does not exist any more.", transient=False)
            delivered = channel.send(parcel.envelope)
        except SendFailedError as error:
            return error
        except GylewatchError as error:
            return SendFailedError(str(error), transient=True, keep_trying_for=UNCLEAR_FOR)
        except Exception as error:  # noqa: BLE001 - one broken channel must not end delivery
            return unforeseen(channel_id, error)
        with self._lock:
            self._unmarked.update(dict.fromkeys((d.delivery_id for d in parcel.deliveries), delivered))
        for delivery in parcel.deliveries:
            self._mark_if_sent(delivery.delivery_id)
        return None

    def _mark_if_sent(self, delivery_id: int) -> bool:
        with self._lock:
            delivered = self._unmarked.get(delivery_id)
        if delivered is None:
            return False
        self._outbox.sent(delivery_id, self._now(), delivered.far_end, delivered.took_ms)
        with self._lock:
            self._unmarked.pop(delivery_id, None)
        return True
