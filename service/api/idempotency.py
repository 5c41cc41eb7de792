"""A POST with an Idempotency-Key that comes again is answered as it was the first time."""

import hashlib
import logging
import threading
from collections.abc import Callable
from datetime import datetime

from starlette.concurrency import run_in_threadpool
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from service.api.forwarding import inner_path
from service.api.problems import problem_response
from service.errors import GylewatchError
from service.record.database import Record
from service.record.marks import answer_to, keep_answer

log = logging.getLogger("gylewatch.api")

KEY_LIMIT = 200
NEVER_KEPT = ("/api/v1/accounts", "/api/v1/tokens")
"""What goes in or out there is secret, so no answer is kept; names that are taken stop a repeat."""


class Idempotency:
    """Keeps what was answered under (key), and refuses the same key for another request."""

    def __init__(self, app: ASGIApp, record: Record, now: Callable[[], datetime]) -> None:
        self._app = app
        self._record = record
        self._now = now
        self._under_way: set[str] = set()
        self._lock = threading.Lock()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        given = [v for k, v in scope.get("headers", ()) if k == b"idempotency-key"]
        if (
            scope["type"] != "http"
            or scope["method"] != "POST"
            or not given
            or inner_path(scope).startswith(NEVER_KEPT)
        ):
            await self._app(scope, receive, send)
            return
        key = given[0].decode("latin-1")
        if not 0 < len(key) <= KEY_LIMIT:
            await problem_response(422, f"An Idempotency-Key has 1 to {KEY_LIMIT} characters.")(
                scope, receive, send
            )
            return
        with self._lock:
            busy = key in self._under_way
            self._under_way.add(key)
        if busy:
            await problem_response(
                409, "The first request with this Idempotency-Key is still being answered."
            )(scope, receive, send)
            return
        try:
            await self._once(key, scope, receive, send)
        finally:
            with self._lock:
                self._under_way.discard(key)

    async def _once(self, key: str, scope: Scope, receive: Receive, send: Send) -> None:
        body = bytearray()
        more = True
        while more:
            message = await receive()
            if message["type"] == "http.disconnect":
                # the guard against large bodies ends a stream so; it gives the answer
                await send({"type": "http.response.start", "status": 413, "headers": []})
                return
            body += message.get("body", b"")
            more = message.get("more_body", False)
        asked = hashlib.sha256(
            scope["path"].encode() + b"\0" + scope["query_string"] + b"\0" + body
        ).hexdigest()
        stored = await run_in_threadpool(self._stored, key)
        if stored is not None:
            await self._again(stored, asked, scope, receive, send)
            return

        handed = False

        async def replay() -> Message:
            nonlocal handed
            if handed:
                return await receive()
            handed = True
            return {"type": "http.request", "body": bytes(body), "more_body": False}

        status = 0
        headers: dict[str, str] = {}
        answer = bytearray()
        held: list[Message] = []

        async def watching(message: Message) -> None:
            nonlocal status
            held.append(message)
            if message["type"] == "http.response.start":
                status = message["status"]
                headers.update(
                    {
                        k.decode("latin-1"): v.decode("latin-1")
                        for k, v in message["headers"]
                        if k in (b"content-type", b"location", b"etag")
                    }
                )
            elif message["type"] == "http.response.body":
                answer.extend(message.get("body", b""))
                if not message.get("more_body", False):
                    if status < 500:
                        await run_in_threadpool(self._keep, key, asked, status, headers, answer.decode())
                    for part in held:
                        await send(part)

        await self._app(scope, replay, watching)

    def _stored(self, key: str) -> dict[str, object] | None:
        with self._record.reading() as connection:
            found = answer_to(connection, key)
        return None if found is None else dict(found)

    def _keep(self, key: str, asked: str, status: int, headers: dict[str, str], body: str) -> None:
        try:
            self._record.write(lambda c: keep_answer(c, key, asked, status, headers, body, self._now()))
        except GylewatchError as refused:
            # what was asked is done: its true answer counts for more than the answer to a repeat
            log.warning("the answer to a request could not be kept: %s", refused)

    async def _again(
        self, stored: dict[str, object], asked: str, scope: Scope, receive: Receive, send: Send
    ) -> None:
        if stored["fingerprint"] != asked:
            answer = problem_response(409, "This Idempotency-Key was used for another request already.")
        else:
            headers = stored["headers"]
            assert isinstance(headers, dict)
            answer = Response(str(stored["body"]), int(str(stored["status"])), headers)
        await answer(scope, receive, send)
