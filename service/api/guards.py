"""What is looked at before any route: how much is sent, and as what; and what a browser is told.

Plain ASGI, so that it costs nothing on streams and sees a body before anything parses it.
"""

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.api.forwarding import header, inner_path
from service.api.problems import problem_response

BODY_LIMIT = 2_000_000
JSON_BODIES = ("POST", "PUT", "PATCH")


class JsonBodies:
    """Bodies under /api are JSON and of bounded size; 415 and 413 otherwise."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or scope["method"] not in JSON_BODIES:
            await self._app(scope, receive, send)
            return
        length = header(scope["headers"], b"content-length")
        if length is not None and (not length.isdigit() or int(length) > BODY_LIMIT):
            await _too_large(scope, receive, send)
            return
        chunked = header(scope["headers"], b"transfer-encoding") is not None
        if inner_path(scope).startswith("/api/") and (chunked or length not in (None, b"0")):
            kind = (header(scope["headers"], b"content-type") or b"").split(b";")[0].strip().lower()
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
        (
            b"permissions-policy",
            b"camera=(), display-capture=(), geolocation=(), microphone=(), payment=(), usb=()",
        ),
    )
    OVER_TLS = (b"strict-transport-security", b"max-age=31536000")
    """One year, for this name only: names below it may be other machines."""

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
                ours = (*self.HEADERS, self.OVER_TLS) if scope["scheme"] == "https" else self.HEADERS
                # a page that is stricter than these says so itself
                message["headers"] = [*given, *(one for one in ours if one[0] not in named)]
            await send(message)

        await self._app(scope, receive, with_headers)
