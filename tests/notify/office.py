"""A deliverer with all it needs, for tests."""

import threading
import time
from collections.abc import Callable, Mapping

from service.notify.channels import Channel
from service.notify.delivery import Deliverer
from service.notify.envelope import SendFailedError
from tests.notify.fakes import HandClock, KeepingChannel, MemoryOutbox
from tests.notify.samples import NOON, an_envelope

BUSY = SendFailedError("The far end is busy.", transient=True)
NEVER = SendFailedError("The far end said never.", transient=False)


def until(met: Callable[[], bool], limit_s: float = 10.0) -> bool:
    """Whether the condition came true in time."""
    end = time.monotonic() + limit_s
    while time.monotonic() < end:
        if met():
            return True
        time.sleep(0.002)
    return met()


class Office:
    """A deliverer with everything it needs, driven by hand or left to itself."""

    def __init__(self, channels: Mapping[str, Channel], batch: int = 200) -> None:
        self.outbox = MemoryOutbox()
        self.clock = HandClock(NOON)
        self.wake = threading.Event()
        self.beats = 0
        self.deliverer = Deliverer(
            self.outbox,
            channels.get,
            self.clock,
            self.wake,
            lambda: 0.0,
            batch=batch,
            trouble_s=0.05,
            beat=self._beat,
        )

    def _beat(self) -> None:
        self.beats += 1

    def post(self, channel: str, *numbers: int) -> None:
        for n in numbers:
            self.outbox.put(channel, an_envelope(n, at=self.clock()), self.clock())
        self.wake.set()

    def round(self) -> float:
        """One pass, waiting until what it started is over."""
        wait_s = self.deliverer.run_once()
        assert until(lambda: not self.deliverer.busy())
        return wait_s


def kept(channel: KeepingChannel) -> list[str]:
    return [envelope.id for envelope in channel.kept]
