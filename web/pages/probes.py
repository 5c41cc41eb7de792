"""The probes: can I believe what I am shown, and which probe is where."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Protocol

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from service.brewing.ranges import Range
from service.brewing.swaps import Measure
from service.watch.typed import COLDEST_C, WARMEST_C
from web.counter import Counter
from web.form import Form
from web.house import PageHouse
from web.rendering import Renderer
from web.typed import Typed, Values

ROLES = (
    ("liquid", "the liquid itself"),
    ("surroundings", "what is around the vessel"),
    ("bath", "the bath the vessel stands in"),
)
MOUNTINGS = (
    ("", "not said"),
    ("thermowell", "in a thermowell"),
    ("lagged", "taped to the wall under foam"),
    ("bare", "in the open"),
    ("immersed", "in the liquid"),
)


@dataclass(frozen=True, slots=True)
class Choice:
    """Something that can be chosen in a form."""

    id: str
    name: str


@dataclass(frozen=True, slots=True)
class ProbeView:
    """One probe. state: well, faulty, silent or waiting (for a place). sentence: how it fares, in words.

    faults: of the last hour by kind. bits: the resolution of its last value.
    """

    id: str
    label: str
    source: str
    state: str
    sentence: str
    vessel_id: str | None = None
    vessel_name: str | None = None
    role: str | None = None
    mounting: str | None = None
    last_c: float | None = None
    last_at: datetime | None = None
    read_ms: float | None = None
    bits: int | None = None
    faults: Mapping[str, int] = field(default_factory=dict)


class ProbesHouse(PageHouse, Protocol):
    """What the page of probes needs."""

    def probes(self) -> Sequence[ProbeView]:
        """Every probe as it is now."""
        ...

    def bus_sentence(self) -> str:
        """How the 1-wire bus is, in words; empty when there is nothing to say."""
        ...

    def add_probe(self, by: str, fields: Mapping[str, Any]) -> None:
        """Declares a probe whose values arrive. InvalidInputError, NotFoundError, ConflictError."""
        ...

    def read_room(self, by: str, vessel_id: str, temp_c: float) -> None:
        """Keeps what the thermometer beside a vessel shows. InvalidInputError, NotFoundError."""
        ...

    def vessel_choices(self) -> Sequence[Choice]:
        """The vessels a probe can be put to."""
        ...

    def place_probe(self, probe_id: str, by: str, fields: Mapping[str, Any]) -> None:
        """Changes label, place and mounting. InvalidInputError, NotFoundError, ConflictError."""
        ...


STATES = ("waiting", "faulty", "silent", "well")

ROOM_C = Range("room temperature", COLDEST_C, WARMEST_C, "C", Measure.CELSIUS)
ROOM, MQTT = " room", " mqtt"
"""Marks for the forms that belong to no probe."""


def router(house: ProbesHouse, render: Renderer, counter: Counter) -> APIRouter:
    """The page and its form."""
    routes = APIRouter(include_in_schema=False)

    def page(request: Request, form: Form, wrong_id: str = "", status: int = 200) -> HTMLResponse:
        def rank(probe: ProbeView) -> tuple[int, str]:
            return STATES.index(probe.state) if probe.state in STATES else 0, probe.label

        return render.page(
            request,
            "probes.html",
            status=status,
            probes=sorted(house.probes(), key=rank),
            bus=house.bus_sentence(),
            vessels=house.vessel_choices(),
            roles=ROLES,
            mountings=MOUNTINGS,
            form=form,
            wrong_id=wrong_id,
        )

    @routes.get("/probes")
    def probes(request: Request) -> HTMLResponse:
        return page(request, Form())

    @routes.post("/probes/new")
    def declare(request: Request, values: Values) -> Response:
        def act(who: str) -> str:
            typed = Typed(values).required("label", "is empty", "Give the probe a name.")
            fields = typed.text("topic", "path", "time_path").number("interval_s").done()
            house.add_probe(who, {"source": "mqtt", **fields})
            return "/probes"

        return counter.take(request, values, act, lambda form, status: page(request, form, MQTT, status))

    @routes.post("/probes/room")
    def room(request: Request, values: Values) -> Response:
        def act(who: str) -> str:
            typed = Typed(values).required("vessel_id", "is missing", "Choose the vessel it stands beside.")
            typed.required("temp_c", "is empty", "Write what the thermometer shows.").done()
            fields = typed.measured("temp_c", ROOM_C, house.taste()).done()
            house.read_room(who, fields["vessel_id"], fields["temp_c"])
            return "/probes"

        return counter.take(request, values, act, lambda form, status: page(request, form, ROOM, status))

    @routes.post("/probes/{probe_id}")
    def place(request: Request, probe_id: str, values: Values) -> Response:
        def act(who: str) -> str:
            typed = Typed(values).required("label", "is empty", "Give the probe a name.")
            fields = typed.text("vessel_id", "role", "mounting").done()
            vessel_id = fields.get("vessel_id")
            role = fields.get("role") if vessel_id else None
            mounting = fields.get("mounting")
            place = {"label": fields["label"], "vessel_id": vessel_id, "role": role, "mounting": mounting}
            house.place_probe(probe_id, who, place)
            return "/probes"

        return counter.take(request, values, act, lambda form, status: page(request, form, probe_id, status))

    return routes
