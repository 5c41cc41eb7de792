"""Quiet and away: who works where, what is out of service, absences, and a sign of life to somebody else."""

from collections.abc import Sequence
from typing import Protocol

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from web.counter import Counter
from web.form import Form
from web.pages import away, silence
from web.pages.probes import Choice
from web.rendering import Renderer


class QuietHouse(silence.SilenceHouse, away.AwayHouse, Protocol):
    """What the page needs."""

    def vessel_choices(self) -> Sequence[Choice]:
        """Every vessel."""
        ...

    def channel_choices(self) -> Sequence[Choice]:
        """Every channel."""
        ...


def router(house: QuietHouse, render: Renderer, counter: Counter) -> APIRouter:
    """The page and its forms."""
    routes = APIRouter(include_in_schema=False)

    def page(request: Request, wrong: str = "", form: Form | None = None, status: int = 200) -> HTMLResponse:
        names = (silence.WORKING, silence.OUT, away.ABSENCE, away.HEARTBEAT)
        return render.page(
            request,
            "quiet.html",
            status=status,
            forms={name: form if form is not None and name == wrong else Form() for name in names},
            vessels=house.vessel_choices(),
            channels=house.channel_choices(),
            works=house.works(),
            out=house.out_of_service(),
            kinds=house.kinds_of_alarm(),
            places_of_alarms=house.places_of_alarms(),
            absences=house.absences(),
            example=house.helper_example().splitlines(),
            heartbeat=house.heartbeat(),
            lengths=silence.FOR,
            every=away.EVERY,
        )

    @routes.get("/quiet")
    def quiet(request: Request) -> HTMLResponse:
        return page(request)

    silence.add_routes(routes, house, counter, page)
    away.add_routes(routes, house, counter, page)
    return routes
