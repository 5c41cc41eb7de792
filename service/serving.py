"""Serving: the socket, and an end within five seconds even with pages open."""

import logging
import signal
import socket
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from types import FrameType
from typing import Any, Protocol

import uvicorn

from service.errors import SettingsError

log = logging.getLogger("gylewatch")

CLOSING_S = 3


class Part(Protocol):
    """A part of the program that runs beside the server."""

    def start(self) -> None: ...

    def stop(self) -> Any: ...


class _Server(uvicorn.Server):
    """Uvicorn, told to wake the open streams first, since it would wait for them to end by themselves."""

    def __init__(
        self, config: uvicorn.Config, opened: Callable[[], None], closing: Callable[[], None]
    ) -> None:
        super().__init__(config)
        self._opened = opened
        self._closing = closing

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        self._opened()

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        self._closing()
        super().handle_exit(sig, frame)


class Listening:
    """A bound socket; `serve` runs the application and the parts until the program is told to stop."""

    def __init__(self, bound: socket.socket, address: str) -> None:
        self._bound = bound
        self.address = address

    def serve(
        self,
        app: Any,
        parts: Sequence[Part],
        closing: Callable[[], None],
        opened: Callable[[], None] = lambda: None,
    ) -> None:
        """Start the parts, serve until SIGTERM or SIGINT, stop the parts in turn.

        opened: called once requests are answered.
        closing: called first when the program is told to stop; it ends what would stay open.
        """
        config = uvicorn.Config(
            app,
            log_config=None,
            access_log=False,
            server_header=False,
            proxy_headers=False,
            timeout_graceful_shutdown=CLOSING_S,
            timeout_keep_alive=15,
            limit_concurrency=1200,
            lifespan="off",
        )
        server = _Server(config, opened, closing)
        started = []
        try:
            for part in parts:
                part.start()
                started.append(part)
            log.info("gylewatch is watching; the page is at %s", self.address)
            server.run(sockets=[self._bound])
        finally:
            for part in reversed(started):
                part.stop()


@contextmanager
def listening(host: str, port: int) -> Iterator[Listening]:
    """Bind the address before anything else is begun; SettingsError when it is taken."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # The protocol is named because asyncio sends small answers at once only then (TCP_NODELAY); with 0 each
    # answer of two parts waits 40 ms for the client's acknowledgement of the first.
    bound = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        try:
            bound.bind((host, port))
        except OSError as refused:
            raise SettingsError(
                f"Port {port} on {host} cannot be used: {refused.strerror}. Stop the program that has it, or "
                "choose another with GYLEWATCH_PORT."
            ) from None
        shown = f"[{host}]" if ":" in host else host
        yield Listening(bound, f"http://{shown}:{bound.getsockname()[1]}")
    finally:
        bound.close()


def end_on_signal() -> None:
    """Let SIGTERM end the program as SIGINT does while it is still starting."""
    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGTERM, signal.default_int_handler)
