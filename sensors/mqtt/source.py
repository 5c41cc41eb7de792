"""Listens to an MQTT broker, in a thread of its own, and hands on what arrives.

Decisions, and why:

- MQTT 3.1.1, which every broker speaks.
- A clean session. A broker that kept messages for us would send them when we are back without saying
  how old they are, and a value without a time of its own would be believed as now. A device whose
  values must survive an outage sends their time, or pushes them over HTTP, where the answer follows
  the commit.
- Subscriptions ask for QoS 1, so that a lossy radio link between broker and here loses nothing. It
  promises no more: a message is acknowledged when it is here, not when it is stored.
- A retained message is as old as it likes. With its own time it is taken at that time; without one it is
  not believed.
- The broker's word that we are gone (last will) is kept on the status topic, as is ours that we are here.
"""

import asyncio
import importlib
import logging
import ssl
import threading
from collections import Counter
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import datetime
from typing import Any

from sensors.bus import Sweep
from sensors.mqtt.address import BrokerAddress
from sensors.mqtt.handing_on import MOST_AT_ONCE, Accept, HandingOn
from sensors.pushed import Wanted
from sensors.sample import ProbeId

log = logging.getLogger("gylewatch.mqtt")

FIRST_WAIT_S = 1.0
LONGEST_WAIT_S = 60.0
STOOD_S = 30.0
"""A connection that stood so long was a good one: the next wait is a short one again."""

KEEP_ALIVE_S = 30
ANSWER_WITHIN_S = 10.0
LOOK_EVERY_S = 1.0


class MissingLibraryError(Exception):
    """The library that speaks MQTT is not installed."""


def load_library(name: str = "aiomqtt") -> Any:
    """The library that speaks MQTT; MissingLibraryError in one sentence when it is not there."""
    try:
        return importlib.import_module(name)
    except ImportError:
        raise MissingLibraryError(
            f"Values over MQTT need the library {name}, which is not installed. "
            "Install it with: pip install 'gylewatch[mqtt]'"
        ) from None


class MqttSource:
    """One broker, listened to from `start` to `stop`.

    declared: the probes that listen to it, looked at every second. now: aware UTC. chance: 0 to 1.
    answer_within_s: how long the broker may take for one answer.
    Among the sources that are swept it tells how the connection is; its values go to `accept`.
    """

    name = "mqtt"

    def __init__(
        self,
        address: BrokerAddress,
        declared: Callable[[], Sequence[Wanted]],
        accept: Accept,
        now: Callable[[], datetime],
        monotonic: Callable[[], float],
        chance: Callable[[], float],
        answer_within_s: float = ANSWER_WITHIN_S,
    ) -> None:
        self._library = load_library()
        self._address = address
        self._declared = declared
        self._now = now
        self._monotonic = monotonic
        self._chance = chance
        self._answer_within_s = answer_within_s
        self._wanted: tuple[Wanted, ...] = ()
        self._handing_on = HandingOn(declared, accept)
        self._thread: threading.Thread | None = None
        self._loop: asyncio.AbstractEventLoop | None = None
        self._all: asyncio.Task[None] | None = None
        self._stopping = threading.Event()
        self.trouble = f"The MQTT broker {address} has not been reached yet."

    # what the rest of the program calls

    def start(self) -> None:
        """Begin to listen."""
        self._thread = threading.Thread(target=self._run, name="mqtt", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """Say goodbye to the broker, hand on what is here, and end within three seconds."""
        self._stopping.set()
        if self._loop is not None and self._all is not None:
            with suppress(RuntimeError):  # the loop has ended by itself
                self._loop.call_soon_threadsafe(self._all.cancel)
        if self._thread is not None:
            self._thread.join(timeout=3)

    def sweep(self, at: datetime) -> Sweep:  # noqa: ARG002
        """How the connection is. It has no values: those arrive by themselves."""
        notes: tuple[str, ...] = ()
        if refused := self.refused:
            (probe, reason), _ = refused.most_common(1)[0]
            notes = (f"{refused.total()} values over MQTT were refused, most of {probe} ({reason}).",)
        return Sweep(frozenset(), (), (), 0.0, self.trouble, notes)

    @property
    def refused(self) -> Counter[tuple[ProbeId, str]]:
        """How many values were refused, by probe and reason."""
        return self._handing_on.refused.copy()

    def close(self) -> None:
        """Nothing: `stop` ends it."""

    # the thread

    def _run(self) -> None:
        with suppress(asyncio.CancelledError):
            asyncio.run(self._listen_for_ever())

    async def _listen_for_ever(self) -> None:
        self._loop, self._all = asyncio.get_running_loop(), asyncio.current_task()
        handing_on = asyncio.create_task(self._handing_on.go_on())
        wait_s = FIRST_WAIT_S
        try:
            while not self._stopping.is_set():
                began = self._monotonic()
                self._tell(await self._one_connection())
                if self._monotonic() - began > STOOD_S:
                    wait_s = FIRST_WAIT_S
                # many that lost the same broker must not all come back in the same moment
                await asyncio.sleep(wait_s * (0.5 + self._chance() / 2))
                wait_s = min(2 * wait_s, LONGEST_WAIT_S)
        finally:
            handing_on.cancel()
            await asyncio.gather(handing_on, return_exceptions=True)
            await self._handing_on.hand_on()

    async def _one_connection(self) -> str:
        """Connect and listen until that ends; returns why it ended, as a sentence."""
        try:
            async with self._client() as client:
                try:
                    await self._say(client, "online")
                    async with asyncio.TaskGroup() as both:
                        both.create_task(self._subscribe(client))
                        both.create_task(self._read(client))
                except asyncio.CancelledError:
                    with suppress(self._library.MqttError):
                        await self._say(client, "offline")
                    raise
        except Exception as failure:
            ended = failure
            while isinstance(ended, ExceptionGroup):
                ended = ended.exceptions[0]
            if not isinstance(ended, self._library.MqttError | OSError):
                log.exception("listening to the MQTT broker failed")
            return self._why(ended)
        return f"The MQTT broker {self._address} ended the connection."

    def _client(self) -> Any:
        address = self._address
        return self._library.Client(
            address.host,
            address.port,
            username=address.user,
            password=address.password,
            clean_session=True,
            keepalive=KEEP_ALIVE_S,
            timeout=self._answer_within_s,
            will=self._library.Will(address.status_topic, "offline", qos=1, retain=True),
            tls_context=ssl.create_default_context() if address.tls else None,
            max_queued_incoming_messages=MOST_AT_ONCE,
        )

    async def _say(self, client: Any, state: str) -> None:
        await client.publish(self._address.status_topic, state, qos=1, retain=True, timeout=2)

    def _why(self, ended: BaseException) -> str:
        code = getattr(getattr(ended, "rc", None), "value", getattr(ended, "rc", None))
        broker = f"The MQTT broker {self._address}"
        if isinstance(ended, self._library.exceptions.MqttConnectError):
            if code in (4, 5, 134, 135):
                who = (
                    "a caller without a name" if self._address.user is None else f"user {self._address.user}"
                )
                return f"{broker} refuses {who}: check user and password."
            return f"{broker} refuses the connection ({ended})."
        return f"{broker} cannot be reached, or the connection broke ({ended})."

    def _tell(self, trouble: str) -> None:
        if trouble != self.trouble:
            self.trouble = trouble
            if trouble:
                log.warning("%s It is tried again and again.", trouble)
            else:
                log.info("connected to the MQTT broker %s", self._address)

    async def _subscribe(self, client: Any) -> None:
        """Keep the subscriptions as the probes are declared."""
        here: set[str] = set()
        refused: set[str] = set()
        while True:
            self._wanted = tuple(self._declared())
            topics = {one.topic for one in self._wanted}
            for topic in sorted(here - topics):
                await client.unsubscribe(topic)
                here.discard(topic)
                refused.discard(topic)
            for topic in sorted(topics - here):
                answers = await client.subscribe(topic, qos=1)
                here.add(topic)
                if any(getattr(answer, "value", answer) >= 128 for answer in answers):
                    refused.add(topic)
            self._tell(
                f"The MQTT broker {self._address} lets us not listen to {', '.join(sorted(refused))}: "
                "allow it there."
                if refused
                else ""
            )
            await asyncio.sleep(LOOK_EVERY_S)

    async def _read(self, client: Any) -> None:
        async for message in client.messages:
            topic = str(message.topic)
            if topic == self._address.status_topic:
                continue
            self._handing_on.take(
                self._wanted, topic, bytes(message.payload or b""), bool(message.retain), self._now()
            )
