"""From messages to batches: what each message holds for whom, what waits, and who takes it."""

import asyncio
import logging
import math
from collections import Counter, deque
from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Protocol

from sensors.pushed import SENTENCES, Refusal, Wanted, fits, read_payload
from sensors.sample import ProbeId

log = logging.getLogger("gylewatch.mqtt")

GATHER_S = 0.2
AGAIN_S = 1.0
MOST_AT_ONCE = 10_000
"""Values handed on in one batch, and kept per probe while nobody takes them; then the oldest go."""

Item = tuple[int, datetime, float]


class Taken(Protocol):
    """What became of a batch: (index, reason) of each item that was refused."""

    @property
    def refused(self) -> Sequence[tuple[int, str]]: ...


Accept = Callable[[ProbeId, Sequence[Item]], Taken]
"""Takes (index, time, value in C) of a probe. NaN stands for a message that held no value, so that it is
counted like any other value that is not believed. When it raises, the batch is kept and offered again."""


class HandingOn:
    """Reads messages for the probes that want them and hands their values on in batches.

    declared: the probes as they are declared now; what nobody takes is dropped once its probe is not
    among them. refused: how many values, by probe and reason. lost: how many were dropped.
    """

    def __init__(self, declared: Callable[[], Sequence[Wanted]], accept: Accept) -> None:
        self._declared = declared
        self._accept = accept
        self._waiting: dict[ProbeId, deque[tuple[datetime, float]]] = {}
        self._something = asyncio.Event()
        self.refused: Counter[tuple[ProbeId, str]] = Counter()
        self.lost = 0

    def take(
        self, wanted: Sequence[Wanted], topic: str, payload: bytes, retained: bool, now: datetime
    ) -> None:
        """Take one message. retained: the broker had kept it, nobody knows since when. now: aware UTC."""
        for one in wanted:
            if fits(one.topic, topic):
                self._take_for(one, payload, retained, now)

    def _take_for(self, wanted: Wanted, payload: bytes, retained: bool, now: datetime) -> None:
        found = read_payload(wanted, payload)
        if isinstance(found, Refusal):
            self._refuse(wanted.probe_id, found.value, SENTENCES[found])
            if not retained:  # an old message that is garbage says nothing of how the device fares now
                self._keep(wanted.probe_id, [(now, math.nan)])
        elif found.at is None and retained:
            self._refuse(wanted.probe_id, Refusal.RETAINED.value, SENTENCES[Refusal.RETAINED])
        else:
            self._keep(wanted.probe_id, [(found.at or now, found.value_c)])

    def _refuse(self, probe_id: ProbeId, reason: str, sentence: str = "") -> None:
        self.refused[probe_id, reason] += 1
        if _is_worth_saying(count := self.refused[probe_id, reason]):
            log.warning("%s over MQTT: %s, %d times so far. %s", probe_id, reason, count, sentence)

    def _keep(self, probe_id: ProbeId, items: Sequence[tuple[datetime, float]]) -> None:
        waiting = self._waiting.setdefault(probe_id, deque())
        waiting.extend(items)
        while len(waiting) > MOST_AT_ONCE:
            waiting.popleft()
            self.lost += 1
            if _is_worth_saying(self.lost):
                log.warning("values over MQTT come faster than they are stored: %d lost so far", self.lost)
        self._something.set()

    async def go_on(self) -> None:
        """Hand on what comes, as it comes, until cancelled."""
        while True:
            await self._something.wait()
            await asyncio.sleep(GATHER_S)
            self._something.clear()
            if not await self.hand_on():
                await asyncio.sleep(AGAIN_S)
                self._something.set()

    async def hand_on(self) -> bool:
        """Hand on what waits, a batch for each probe; False when some of it waits on."""
        all_taken = True
        for probe_id in list(self._waiting):
            waiting = self._waiting.pop(probe_id)
            batch = [(index, at, value_c) for index, (at, value_c) in enumerate(waiting)]
            try:
                taken = await asyncio.to_thread(self._accept, probe_id, batch)
            except Exception as failure:  # noqa: BLE001 - whatever went wrong there, listening goes on
                log.warning("values of %s over MQTT could not be stored: %s", probe_id, failure)
                if any(one.probe_id == probe_id for one in self._declared()):
                    all_taken = False
                    newer = self._waiting.pop(probe_id, deque())
                    self._keep(probe_id, [*waiting, *newer])
                continue
            for index, reason in taken.refused:
                if not math.isnan(batch[index][2]):
                    self._refuse(probe_id, reason)
        return all_taken


def _is_worth_saying(count: int) -> bool:
    """The first time, and then ever more rarely: a device that sends garbage does so every few seconds."""
    return count & (count - 1) == 0
