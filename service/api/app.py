"""The web application: routes, and the guards before them."""

from collections.abc import Sequence

from fastapi import APIRouter, FastAPI

from service.access.door import Door
from service.actions.desk import Desk
from service.api import problems
from service.api.admission import Admission
from service.api.attribution import Attribution
from service.api.forwarding import Forwarding
from service.api.guards import JsonBodies, SecurityHeaders
from service.api.idempotency import Idempotency
from service.api.routes import (
    absences,
    access,
    access_metrics,
    alarms,
    batches,
    entries,
    events,
    heartbeat,
    links,
    notation,
    numbers,
    silencing,
    tasting,
    vessels,
)
from service.api.routes import insight as looking_ahead
from service.api.routes import record as records
from service.version import __version__


def create_app(desk: Desk, pages: Sequence[APIRouter] = (), door: Door | None = None) -> FastAPI:
    """The application on this desk, with the pages' routers beside the API.

    door: how people come to it; unset: under loopback's names, by no proxy.
    """
    door = door or Door()
    app = FastAPI(
        title="gylewatch",
        version=__version__,
        description="Watches the temperature of home-brew fermenters.",
        openapi_url="/api/v1/openapi.json",
        docs_url=None,
        redoc_url=None,
    )
    app.state.desk = desk
    for routes in (
        vessels.router,
        records.router,
        batches.router,
        entries.router,
        tasting.router,
        looking_ahead.router,
        numbers.router,
        alarms.router,
        absences.router,
        silencing.router,
        heartbeat.router,
        access.router,
        notation.router,
        events.router,
    ):
        app.include_router(routes, prefix="/api/v1")
    app.include_router(events.roots)
    app.include_router(access_metrics.router)
    app.include_router(links.router)
    for page in pages:
        app.include_router(page)
    problems.install(app)
    # the last one added is the first one that a request meets
    app.add_middleware(Attribution, now=desk.now)
    app.add_middleware(Idempotency, record=desk.record, now=desk.now)
    app.add_middleware(JsonBodies)
    app.add_middleware(Admission, desk=desk, door=door)
    app.add_middleware(SecurityHeaders)
    app.add_middleware(Forwarding, door=door)
    return app
