"""Events for open pages: numbered, bounded, never waited for.

Publishing may happen on any thread. Each page has a short queue; one that does not keep up is
dropped and told to reload, so that a slow reader can hold nobody up.
"""

import asyncio
import json
import threading
from collections import deque
from collections.abc import AsyncIterator, Awaitable, Callable, Mapping
from dataclasses import dataclass
from typing import Any

KEPT = 500
QUEUE = 200
COMMENT_EVERY_S = 15.0
Welcome = Callable[[], Awaitable[bool]]


async def _always() -> bool:
    return True


@dataclass(frozen=True, slots=True)
class Event:
    """One event: its number, its kind (``sample``, ``alarm``, ``stage``, ``estimate``) and its data."""

    number: int
    kind: str
    data: str

    def as_text(self, boot: str) -> str:
        """As it goes over the wire (WHATWG HTML, server-sent events)."""
        return f"id: {boot}-{self.number}\nevent: {self.kind}\ndata: {self.data}\n\n"


class _Reader:
    def __init__(self, loop: asyncio.AbstractEventLoop) -> None:
        self.loop = loop
        self.queue: asyncio.Queue[Event | None] = asyncio.Queue(QUEUE)
        self.behind = False

    def offer(self, event: Event | None) -> None:
        try:
            self.queue.put_nowait(event)
        except asyncio.QueueFull:
            self.behind = True


class Broker:
    """Hands events to every open page. `boot` makes ids of two runs of the program unlike."""

    def __init__(self, boot: str, comment_every_s: float = COMMENT_EVERY_S) -> None:
        self._boot = boot
        self._every_s = comment_every_s
        self._lock = threading.Lock()
        self._kept: deque[Event] = deque(maxlen=KEPT)
        self._readers: set[_Reader] = set()
        self._number = 0
        self._closed = False
        self.dropped = 0

    @property
    def readers(self) -> int:
        """How many pages are listening."""
        return len(self._readers)

    def publish(self, kind: str, data: Mapping[str, Any]) -> None:
        """Give an event to all who listen now, and keep it for those who come back."""
        with self._lock:
            self._number += 1
            event = Event(self._number, kind, json.dumps(data, separators=(",", ":")))
            self._kept.append(event)
            self._give(event)

    def close(self) -> None:
        """Wake every listener to its end; nobody new is taken."""
        with self._lock:
            self._closed = True
            self._give(None)

    def _give(self, event: Event | None) -> None:
        for reader in tuple(self._readers):
            try:
                reader.loop.call_soon_threadsafe(reader.offer, event)
            except RuntimeError:  # its loop has ended with the page still listed
                self._readers.discard(reader)

    async def listen(self, last_id: str | None, welcome: Welcome = _always) -> AsyncIterator[str]:
        """The stream of one page, as text: first what it missed, or `reload` when that is not kept.

        welcome: whether whoever listens still may; asked every 15 s, and the stream ends when not.
        """
        loop = asyncio.get_running_loop()
        reader, asked_at = _Reader(loop), loop.time()
        with self._lock:
            if self._closed:
                return
            missed = self._missed(last_id)
            self._readers.add(reader)
        try:
            yield "retry: 3000\n\n"
            if missed is None:
                yield f"id: {self._boot}-{self._number}\nevent: reload\ndata: {{}}\n\n"
            for event in missed or ():
                yield event.as_text(self._boot)
            while not reader.behind:
                if loop.time() - asked_at >= self._every_s:
                    asked_at = loop.time()
                    if not await welcome():
                        return
                try:
                    event_or_end = await asyncio.wait_for(reader.queue.get(), self._every_s)
                except TimeoutError:
                    yield ": still here\n\n"
                    continue
                if event_or_end is None:
                    return
                yield event_or_end.as_text(self._boot)
            self.dropped += 1
            yield "event: reload\ndata: {}\n\n"
        finally:
            with self._lock:
                self._readers.discard(reader)

    def _missed(self, last_id: str | None) -> list[Event] | None:
        if last_id is None:
            return []
        boot, _, number = last_id.rpartition("-")
        if boot != self._boot or not number.isdigit() or int(number) > self._number:
            return None
        seen = int(number)
        if self._kept and seen < self._kept[0].number - 1:
            return None
        return [event for event in self._kept if event.number > seen]
