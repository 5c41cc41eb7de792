"""The channels in use, each made when it is first needed and made anew when its configuration changed."""

import json
import threading
from collections.abc import Callable

from service.notify.channel_config import Json
from service.notify.channels.channel import Channel


class OpenChannels:
    """Gives the channel of an id; what `Deliverer` asks. May be used from any thread.

    read: the configuration of a channel as JSON, None when there is none any more (or it is switched off).
    make: the channel of a configuration; it may raise InvalidInputError, which then comes out here.
    """

    def __init__(self, read: Callable[[str], Json | None], make: Callable[[Json], Channel]) -> None:
        self._read = read
        self._make = make
        self._lock = threading.Lock()
        self._open: dict[str, tuple[str, Channel]] = {}

    def __call__(self, channel_id: str) -> Channel | None:
        """The channel as it is configured now, or None."""
        config = self._read(channel_id)
        with self._lock:
            known = self._open.get(channel_id)
            if config is None:
                self._forget(channel_id)
                return None
            said = json.dumps(config, sort_keys=True)
            if known is not None and known[0] == said:
                return known[1]
            self._forget(channel_id)
            channel = self._make(config)
            self._open[channel_id] = (said, channel)
            return channel

    def close(self) -> None:
        """Close them all."""
        with self._lock:
            for channel_id in list(self._open):
                self._forget(channel_id)

    def _forget(self, channel_id: str) -> None:
        known = self._open.pop(channel_id, None)
        if known is not None:
            known[1].close()
