"""From nothing to a batch that is being watched: what to connect, and which step comes next."""

from dataclasses import dataclass
from typing import Protocol

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from web.house import PageHouse
from web.rendering import Renderer


@dataclass(frozen=True, slots=True)
class Progress:
    """What is there already. unplaced: probes that hang nowhere yet. surroundings: those beside a vessel."""

    probes: int = 0
    unplaced: int = 0
    vessels: int = 0
    placed: int = 0
    running: int = 0
    channels: int = 0
    plans: int = 0
    surroundings: int = 0


class FirstStepsHouse(PageHouse, Protocol):
    """What the first steps need."""

    def progress(self) -> Progress:
        """What is there already."""
        ...


def router(house: FirstStepsHouse, render: Renderer) -> APIRouter:
    """The page; each step is done on the page it leads to."""
    routes = APIRouter(include_in_schema=False)

    @routes.get("/first-steps")
    def first_steps(request: Request) -> HTMLResponse:
        there = house.progress()
        done = {
            "probe": there.probes > 0,
            "vessel": there.vessels > 0,
            "place": there.placed > 0,
            "batch": there.running > 0,
            "channel": there.channels > 0,
        }
        following = next((step for step, is_done in done.items() if not is_done), "")
        return render.page(request, "first_steps.html", there=there, done=done, following=following)

    return routes
