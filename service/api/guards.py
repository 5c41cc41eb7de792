"""What is looked at before any route: who asks, how much is sent, and as what.

Plain ASGI, so that it costs nothing on streams and sees a body before anything parses it.
"""

from collections.abc import Iterable
from ipaddress import ip_address
from urllib.parse import urlsplit

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.api.problems import problem_response

BODY_LIMIT = 2_000_000
JSON_BODIES = ("POST", "PUT", "PATCH")
OPEN_PATHS = ("/healthz",)
FORWARDED = (b"forwarded", b"x-forwarded-for", b"x-forwarded-host", b"x-forwarded-proto")


class LoopbackOnly:
    """Without accounts, only this machine is served: peer, Host and Origin must all say so.

    A page of another site, open in the brewer's browser, can send requests to this machine; its
    Origin gives it away. A name that was made to point here (DNS rebinding) is given away by Host.
    """

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["path"] in OPEN_PATHS or not (why := _stranger(scope)):
            await self._app(scope, receive, send)
            return
        await problem_response(401, f"Only this machine is served until there is an account: {why}.")(
            scope, receive, send
        )


def _stranger(scope: Scope) -> str:
    headers: list[tuple[bytes, bytes]] = scope["headers"]
    peer = scope.get("client")
    if peer is not None and not _is_loopback(peer[0]):
        return f"the request came from {peer[0]}"
    if any(name == b"authorization" for name, _ in headers):
        return "a token was sent, and no token exists yet"
    if any(name in FORWARDED for name, _ in headers):
        return "the request was forwarded by a proxy"
    hosts = [value.decode("latin-1") for name, value in headers if name == b"host"]
    if len(hosts) != 1 or not _is_loopback(_host_of(f"//{hosts[0]}")):
        return "the request was for another host name"
    origins = [value.decode("latin-1") for name, value in headers if name == b"origin"]
    if origins and any(origin != f"{scope['scheme']}://{hosts[0]}" for origin in origins):
        return "the request came from a page of another site"
    return ""


def _host_of(url: str) -> str:
    try:
        return urlsplit(url).hostname or ""
    except ValueError:
        return ""


def _is_loopback(host: str) -> bool:
    if host == "localhost":
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False


class JsonBodies:
    """Bodies under /api are JSON and of bounded size; 415 and 413 otherwise."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["method"] not in JSON_BODIES:
            await self._app(scope, receive, send)
            return
        length = _header(scope["headers"], b"content-length")
        if length is not None and (not length.isdigit() or int(length) > BODY_LIMIT):
            await _too_large(scope, receive, send)
            return
        chunked = _header(scope["headers"], b"transfer-encoding") is not None
        if scope["path"].startswith("/api/") and (chunked or length not in (None, b"0")):
            kind = (_header(scope["headers"], b"content-type") or b"").split(b";")[0].strip().lower()
            if kind != b"application/json":
                await problem_response(415, "The body must be application/json.")(scope, receive, send)
                return
        seen = 0
        overrun = False

        async def counted() -> Message:
            nonlocal seen, overrun
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > BODY_LIMIT:
                overrun = True
                return {"type": "http.disconnect"}
            return message

        answered = False

        async def guarded(message: Message) -> None:
            nonlocal answered
            if overrun and not answered:
                answered = True
                await _too_large(scope, receive, send)
            elif not overrun:
                await send(message)

        try:
            await self._app(scope, counted, guarded)
        finally:
            if overrun and not answered:
                await _too_large(scope, receive, send)


def _header(headers: Iterable[tuple[bytes, bytes]], name: bytes) -> bytes | None:
    return next((value for key, value in headers if key == name), None)


async def _too_large(scope: Scope, receive: Receive, send: Send) -> None:
    await problem_response(
        413, f"The body is larger than {BODY_LIMIT // 1_000_000} MB; send less at a time."
    )(scope, receive, send)


class SecurityHeaders:
    """The headers that keep a browser from doing more with our pages than we meant."""

    HEADERS = (
        (
            b"content-security-policy",
            b"default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
            b"connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
        ),
        (b"x-content-type-options", b"nosniff"),
        (b"referrer-policy", b"same-origin"),
        (b"cross-origin-opener-policy", b"same-origin"),
        (b"cross-origin-resource-policy", b"same-origin"),
    )

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                given = message.get("headers", ())
                named = {name for name, _ in given}
                # a page that is stricter than these says so itself
                message["headers"] = [*given, *(one for one in self.HEADERS if one[0] not in named)]
            await send(message)

        await self._app(scope, receive, with_headers)
