"""The first look at a request: under which path and name it came, and through which proxies.

After it the scope says who really asked, by which scheme and for which host, and its path begins with the
prefix whether the proxy took that off or not (ASGI: ``path`` includes ``root_path``).
"""

from collections.abc import Iterable

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.access.door import Door
from service.access.hosts import asked_through, is_trusted

UNTRUSTED = "gylewatch.untrusted-proxy"
"""Set in the scope of a request that was forwarded by somebody whose word is not believed."""

API = b"/api/v1/"


def header(headers: Iterable[tuple[bytes, bytes]], name: bytes) -> bytes | None:
    """The first header of that name."""
    return next((value for key, value in headers if key == name), None)


def is_forwarding(name: bytes) -> bool:
    """Whether a header (in lower case) says that a request was forwarded."""
    return name == b"forwarded" or name.startswith(b"x-forwarded-")


def inner_path(scope: Scope) -> str:
    """The path below the prefix."""
    path: str = scope["path"]
    prefix = scope.get("root_path", "")
    return (path[len(prefix) :] or "/") if prefix and path.startswith(prefix) else path


class Forwarding:
    """Puts prefix, peer, scheme and host in their place."""

    def __init__(self, app: ASGIApp, door: Door) -> None:
        self._app = app
        self._door = door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        scope = dict(scope)
        self._see_through(scope)
        prefix = self._door.prefix
        if not prefix:
            await self._app(scope, receive, send)
            return
        path = scope["path"]
        inner = path[len(prefix) :] if path == prefix or path.startswith(f"{prefix}/") else path
        scope["root_path"], scope["path"] = prefix, prefix + (inner or "/")
        await self._app(scope, receive, _with_prefixed_locations(send, prefix.encode()))

    def _see_through(self, scope: Scope) -> None:
        headers: list[tuple[bytes, bytes]] = list(scope["headers"])
        forwarded = [(k.decode("latin-1"), v.decode("latin-1")) for k, v in headers if is_forwarding(k)]
        if not forwarded:
            return
        peer = (scope.get("client") or ("", 0))[0]
        if not is_trusted(peer, self._door.proxies):
            scope[UNTRUSTED] = True
            return
        asked = asked_through(peer, scope["scheme"], self._door.proxies, forwarded)
        scope["client"] = (asked.peer, 0)
        scope["scheme"] = asked.scheme
        if asked.host is not None:
            kept = [(name, value) for name, value in headers if name != b"host"]
            scope["headers"] = [(b"host", asked.host.encode("latin-1")), *kept]


def _with_prefixed_locations(send: Send, prefix: bytes) -> Send:
    """What the API made is named by its path; outside, the prefix belongs before it."""

    async def prefixed(message: Message) -> None:
        if message["type"] == "http.response.start":
            message["headers"] = [
                (name, prefix + value if name == b"location" and value.startswith(API) else value)
                for name, value in message.get("headers", ())
            ]
        await send(message)

    return prefixed
