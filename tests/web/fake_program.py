"""The pages over a fake house with just enough of the API under them: series, events, a sign of life."""

import asyncio
import itertools
import json
from collections.abc import AsyncIterator
from datetime import datetime, timedelta
from typing import Any

from fastapi import FastAPI
from fastapi.responses import StreamingResponse

from service.api.guards import SecurityHeaders
from tests.web import fakes
from tests.web.fake_house import FakeHouse
from web.pages import all as pages
from web.views import VesselView


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

    @app.get("/api/v1/batches/{batch_id}/series")
    def series(batch_id: str, points: int = 1000) -> dict[str, Any]:
        vessel = next(v for v in house.vessels if v.batch_id == batch_id)
        return series_of(vessel, house.now(), points)

    app.include_router(pages.router(house))
    app.add_middleware(SecurityHeaders)
    return app


def series_of(vessel: VesselView, now: datetime, points: int) -> dict[str, Any]:
    """One day as the API gives it, in buckets of five minutes."""
    brown = vessel.id == "bucket"
    last = vessel.at or now
    temp, low, high = (fakes.cellar_c, 18.5, 21.5) if brown else (fakes.shed_c, 18.0, 21.0)
    times = [now - timedelta(days=1) + n * fakes.STEP for n in range(min(points, 289))]

    def stamp(at: datetime) -> str:
        return at.isoformat().replace("+00:00", "Z")

    def absent(at: datetime) -> bool:
        return at > last or (brown and fakes.missing(at, now))

    def probe(probe_id: str, role: str, of: Any, spread: float) -> dict[str, Any]:
        means = [None if absent(at) else of(at) for at in times]
        return {
            "probe_id": probe_id,
            "role": role,
            "t": [stamp(at) for at in times],
            "mean_c": means,
            "min_c": [None if m is None else m - spread for m in means],
            "max_c": [None if m is None else m + spread for m in means],
        }

    out = runs([at for at in times if not low <= temp(at) <= high and not absent(at)])
    gaps = runs([at for at in times if absent(at)])
    band = {
        "from": stamp(now - timedelta(days=3)),
        "to": stamp(now + timedelta(days=4)),
        "stage": "primary",
        "target_c": (low + high) / 2,
        "low_c": low,
        "high_c": high,
    }
    probes = [
        probe("28-00000a1b2c3d", "liquid", temp, 0.06),
        probe("28-00000a1b2c3e", "surroundings", fakes.room_c, 0.15),
    ]
    strays = [
        {"from": stamp(run[0]), "to": stamp(run[-1]), "side": "warm", "worst_c": 22.2, "stage": "primary"}
        for run in out
    ]
    silences = [{"probe_id": "28-00000a1b2c3d", "from": stamp(run[0]), "to": stamp(run[-1])} for run in gaps]
    return {"bucket_s": 300, "probes": probes, "band": [band], "strays": strays, "gaps": silences}


def runs(times: list[datetime]) -> list[list[datetime]]:
    """Times that follow each other in one step, together."""
    found: list[list[datetime]] = []
    for at in times:
        if found and at - found[-1][-1] == fakes.STEP:
            found[-1].append(at)
        else:
            found.append([at])
    return found
