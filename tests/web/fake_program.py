"""The pages over a fake house with just enough of the API under them: series, events, a sign of life."""

import asyncio
import itertools
import json
from collections.abc import AsyncIterator
from typing import Any

from fastapi import FastAPI
from fastapi.responses import StreamingResponse

from service.api.guards import SecurityHeaders
from tests.web.fake_house import FakeHouse
from web.pages import all as pages


class Line:
    """Events to every page that listens; `send` may be called from any thread once `serve` has begun."""

    def __init__(self) -> None:
        self._listeners: set[asyncio.Queue[str | None]] = set()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._ids = itertools.count(1)

    def send(self, kind: str, data: dict[str, Any]) -> None:
        text = f"id: {next(self._ids)}\nevent: {kind}\ndata: {json.dumps(data)}\n\n"
        self._each(text)

    def cut(self) -> None:
        """Ends every stream, as a stop of the service does."""
        self._each(None)

    def _each(self, text: str | None) -> None:
        if self._loop is not None:
            for queue in tuple(self._listeners):
                self._loop.call_soon_threadsafe(queue.put_nowait, text)

    async def listen(self) -> AsyncIterator[str]:
        self._loop = asyncio.get_running_loop()
        queue: asyncio.Queue[str | None] = asyncio.Queue()
        self._listeners.add(queue)
        try:
            yield ": here\n\n"
            while (text := await queue.get()) is not None:
                yield text
        finally:
            self._listeners.discard(queue)


def program(house: FakeHouse, line: Line | None = None) -> FastAPI:
    """An application to run under uvicorn."""
    app = FastAPI(openapi_url=None)
    events = line or Line()

    @app.get("/healthz")
    def healthz() -> dict[str, str]:
        return {"status": "alive"}

    @app.get("/api/v1/events")
    async def stream() -> StreamingResponse:
        return StreamingResponse(events.listen(), media_type="text/event-stream")

    app.include_router(pages.router(house))
    app.add_middleware(SecurityHeaders)
    return app
