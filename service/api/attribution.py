"""Says to the record whose request changes something; the record writes it down with the change."""

import json
from collections.abc import Callable
from datetime import datetime
from urllib.parse import parse_qsl

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.access.who import WHO, Who, wanted_scope
from service.access.who import Scope as Right
from service.api.forwarding import header, inner_path
from service.record.audit import Attributed, AuditRow, attributed

READ_BODIES = 64_000
MOST_FIELDS = 30
LONGEST_FIELD = 60
UNSAID = frozenset({"token", "once", "back"})
"""Fields of every form that say nothing."""


class Attribution:
    """What a request writes is attributed to who asked, with the names of the fields that were given.

    Values are left out: among them are passwords of channels. Pushed samples are not changes by somebody.
    """

    def __init__(self, app: ASGIApp, now: Callable[[], datetime]) -> None:
        self._app = app
        self._now = now

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        who: Who | None = scope.get(WHO)
        if scope["type"] != "http" or who is None:
            await self._app(scope, receive, send)
            return
        method, path = scope["method"], inner_path(scope)
        if wanted_scope(method, path) is not Right.MANAGE:
            await self._app(scope, receive, send)
            return
        body = bytearray()

        async def overheard() -> Message:
            message = await receive()
            if len(body) <= READ_BODIES:
                body.extend(message.get("body", b""))
            return message

        kind = (header(scope["headers"], b"content-type") or b"").decode("latin-1")

        def row() -> AuditRow:
            fields = field_names(bytes(body), kind) if len(body) <= READ_BODIES else ("…",)
            return AuditRow(self._now(), who.name, who.how.value, who.peer, f"{method} {path[:200]}", fields)

        to = Attributed(row)

        async def ending(message: Message) -> None:
            # what is written from here on is about the answer, not the change
            to.written()
            await send(message)

        with attributed(to):
            await self._app(scope, overheard, ending)


def field_names(body: bytes, kind: str) -> tuple[str, ...]:
    """The names of what a body gives, without their values."""
    if not body:
        return ()
    try:
        if "json" in kind:
            given = json.loads(body)
            names = list(given) if isinstance(given, dict) else []
        else:
            pairs = parse_qsl(body.decode(), max_num_fields=500)
            names = [name for name, value in pairs if value.strip()]
    except (ValueError, RecursionError):
        return ()
    shown = [name[:LONGEST_FIELD] for name in names if name not in UNSAID]
    return tuple(dict.fromkeys(shown[:MOST_FIELDS]))
