"""The web application: routes, and the guards before them."""

from collections.abc import Sequence

from fastapi import APIRouter, FastAPI

from service.actions.desk import Desk
from service.api import problems
from service.api.guards import JsonBodies, LoopbackOnly, SecurityHeaders
from service.api.idempotency import Idempotency
from service.api.routes import (
    absences,
    alarms,
    batches,
    entries,
    events,
    heartbeat,
    links,
    numbers,
    silencing,
    vessels,
)
from service.api.routes import insight as looking_ahead
from service.api.routes import record as records
from service.version import __version__


def create_app(desk: Desk, pages: Sequence[APIRouter] = ()) -> FastAPI:
    """The application on this desk, with the pages' routers beside the API."""
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
        looking_ahead.router,
        numbers.router,
        alarms.router,
        absences.router,
        silencing.router,
        heartbeat.router,
        events.router,
    ):
        app.include_router(routes, prefix="/api/v1")
    app.include_router(events.roots)
    app.include_router(links.router)
    for page in pages:
        app.include_router(page)
    problems.install(app)
    app.add_middleware(Idempotency, record=desk.record, now=desk.now)
    app.add_middleware(JsonBodies)
    app.add_middleware(LoopbackOnly)
    app.add_middleware(SecurityHeaders)
    return app
