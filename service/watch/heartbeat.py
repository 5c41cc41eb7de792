"""A sign of life to the user's address, only while the watch really goes round."""

import logging
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from service.errors import GylewatchError, InvalidInputError
from service.notify.heartbeat import HeartbeatResult, beat
from service.record.database import Record
from service.record.marks import read_mark

log = logging.getLogger("gylewatch.heartbeat")

MARK = "heartbeat"
IDLE_S = 300.0
"""How long to wait before looking again whether there is an address by now; `look_again` ends the wait."""


@dataclass(frozen=True, slots=True)
class LastBeat:
    """The last attempt: when, whether it arrived, and the far end's words, masked."""

    at: datetime
    arrived: bool
    words: str


class Heartbeat:
    """A part of the running program: its own thread, so that a far end that hangs holds up nothing else.

    ready: whether the watch goes round and commits. Without that there is no sign of life, which is the
    whole point of it: whoever waits for it learns that something is wrong.
    """

    def __init__(
        self,
        record: Record,
        ready: Callable[[], bool],
        now: Callable[[], datetime],
        send: Callable[[str], HeartbeatResult] = beat,
    ) -> None:
        self._record = record
        self._ready = ready
        self._now = now
        self._send = send
        self._stopping = threading.Event()
        self._wake = threading.Event()
        self._thread: threading.Thread | None = None
        self.last: LastBeat | None = None

    def start(self) -> None:
        """Begin in the background."""
        self._thread = threading.Thread(target=self._loop, name="heartbeat", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End; a sign on its way is abandoned after a second."""
        self._stopping.set()
        self._wake.set()
        if self._thread is not None:
            self._thread.join(1.0)

    def look_again(self) -> None:
        """The setting was changed: the next sign leaves now."""
        self._wake.set()

    def run_once(self) -> float:
        """Send one sign if there is an address and the watch goes round; seconds until the next."""
        setting = self._setting()
        if setting is None:
            self.last = None
            return IDLE_S
        every_s = float(setting["every_s"])
        if not self._ready():
            log.warning("no sign of life is sent: the watch does not go round")
            return min(every_s, 30.0)
        try:
            result = self._send(str(setting["url"]))
        except InvalidInputError as wrong:
            result = HeartbeatResult(arrived=False, words=str(wrong), took_ms=0)
        if not result.arrived and (self.last is None or self.last.arrived):
            log.warning("the sign of life did not arrive: %s", result.words)
        self.last = LastBeat(self._now(), result.arrived, result.words)
        return every_s

    def _setting(self) -> Mapping[str, Any] | None:
        with self._record.reading() as connection:
            found: Mapping[str, Any] | None = read_mark(connection, MARK)
        return found

    def _loop(self) -> None:
        while not self._stopping.is_set():
            self._wake.clear()
            try:
                wait_s = self.run_once()
            except GylewatchError as refused:
                log.warning("the setting of the heartbeat cannot be read: %s", refused)
                wait_s = 30.0
            if not self._stopping.is_set():
                self._wake.wait(wait_s)
