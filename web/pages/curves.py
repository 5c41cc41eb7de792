"""What the script of a chart asks for: the curves between two times, and what is told beside them."""

import gzip
import json
from datetime import UTC, datetime
from typing import Annotated, Protocol

from fastapi import APIRouter, Query, Request, Response

from service.errors import GylewatchError, NotFoundError
from web.bench import BenchView
from web.chart import Curves, Story, curves_json, story_json
from web.house import PageHouse

Seconds = Annotated[int | None, Query(ge=0, le=2**33)]
Points = Annotated[int, Query(ge=2, le=2000)]
LEAST_SQUEEZED = 1000
LEVEL = 5


class CurvesHouse(PageHouse, Protocol):
    """What a chart needs."""

    def curves(self, batch_id: str, begins: datetime | None, ends: datetime | None, points: int) -> Curves:
        """The measured between two times; the whole unless said. NotFoundError, InvalidInputError."""
        ...

    def story(self, batch_id: str, record: BenchView | None = None) -> Story:
        """What is told beside the curves; `record` spares looking up again what was written down.

        NotFoundError.
        """
        ...


def router(house: CurvesHouse) -> APIRouter:
    """The one address that charts read from."""
    routes = APIRouter(include_in_schema=False)

    @routes.get("/batches/{batch_id}/chart")
    def chart(
        request: Request,
        batch_id: str,
        points: Points = 800,
        story: bool = False,
        begins: Annotated[Seconds, Query(alias="from")] = None,
        ends: Annotated[Seconds, Query(alias="to")] = None,
    ) -> Response:
        try:
            found = curves_json(house.curves(batch_id, _at(begins), _at(ends), points), house.taste())
            if story:
                found |= story_json(house.story(batch_id), house.taste())
        except GylewatchError as error:
            status = 404 if isinstance(error, NotFoundError) else 422
            return Response(str(error), status, media_type="text/plain")
        return _squeezed(request, json.dumps(found, separators=(",", ":")).encode())

    return routes


def _at(seconds: int | None) -> datetime | None:
    return None if seconds is None else datetime.fromtimestamp(seconds, UTC)


def _squeezed(request: Request, body: bytes) -> Response:
    """Figures only, and no secret beside them, so they may be compressed whoever listens."""
    headers = {"Cache-Control": "no-store", "Vary": "Accept-Encoding"}
    if len(body) >= LEAST_SQUEEZED and "gzip" in request.headers.get("accept-encoding", ""):
        headers["Content-Encoding"] = "gzip"
        body = gzip.compress(body, LEVEL, mtime=0)
    return Response(body, headers=headers, media_type="application/json")
