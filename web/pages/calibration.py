"""The calibration of one probe, step by step: ice water, a reference, boiling water; and its history."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Protocol

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from service.brewing.ranges import Range
from service.brewing.swaps import Measure
from service.errors import GylewatchError
from web.counter import Counter
from web.form import Form
from web.house import PageHouse
from web.rendering import Renderer
from web.typed import Typed, Values

METHODS = ("ice", "reference", "boil")

SHOWN_C = Range("temperature", -55.0, 125.0, "C", Measure.CELSIUS)
"""What a part of this family can show (DS18B20 datasheet)."""


@dataclass(frozen=True, slots=True)
class PastCalibration:
    """A line, true = slope * uncorrected + offset_c, valid from a time, give or take uncertainty_c.

    points: what the probe showed and what was true, C. warnings: what is odd about it, in sentences.
    """

    n: int
    from_at: datetime
    created_at: datetime
    slope: float
    offset_c: float
    uncertainty_c: float
    points: tuple[tuple[float, float], ...]
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CalibrationView:
    """A probe to be calibrated. raw_c, raw_at: what it shows without correction. history: newest first."""

    id: str
    label: str
    raw_c: float | None = None
    raw_at: datetime | None = None
    history: Sequence[PastCalibration] = ()


class CalibrationHouse(PageHouse, Protocol):
    """What the page of a calibration needs."""

    def calibration(self, probe_id: str) -> CalibrationView:
        """A probe with the history of its calibration. NotFoundError."""
        ...

    def calibrate(self, probe_id: str, by: str, fields: Mapping[str, Any]) -> None:
        """Adds a point. InvalidInputError, NotFoundError."""
        ...

    def take_calibration_back(self, probe_id: str, n: int, by: str) -> None:
        """Takes a calibration back. NotFoundError."""
        ...


def router(house: CalibrationHouse, render: Renderer, counter: Counter) -> APIRouter:
    """The page and its forms."""
    routes = APIRouter(include_in_schema=False)

    def page(
        request: Request, probe_id: str, form: Form | None = None, wrong: str = "", status: int = 200
    ) -> HTMLResponse:
        once = house.once()
        forms = {method: Form(f"{once}.{method}") for method in METHODS}
        if form is not None and wrong in forms:
            forms[wrong] = form
        try:
            probe = house.calibration(probe_id)
        except GylewatchError as error:
            return render.refusal(request, error)
        return render.page(
            request, "calibration.html", status=status, probe=probe, forms=forms, once=once, wrong_step=wrong
        )

    @routes.get("/probes/{probe_id}/calibration")
    def calibration(request: Request, probe_id: str) -> HTMLResponse:
        return page(request, probe_id)

    @routes.post("/probes/{probe_id}/calibration/{method}")
    def add(request: Request, probe_id: str, method: str, values: Values) -> Response:
        def act(who: str) -> str:
            typed = Typed(values).required("reading_c", "is empty", "Give what the probe shows.")
            taste = house.taste()
            typed.measured("reading_c", SHOWN_C, taste).measured("reference_c", SHOWN_C, taste)
            typed.number("altitude_m", "pressure_hpa").time("from", taste)
            house.calibrate(probe_id, who, {**typed.done(), "method": method})
            return f"/probes/{probe_id}/calibration#history"

        return counter.take(
            request, values, act, lambda form, status: page(request, probe_id, form, method, status)
        )

    @routes.post("/probes/{probe_id}/calibrations/{n}/remove")
    def take_back(request: Request, probe_id: str, n: int, values: Values) -> Response:
        def act(who: str) -> str:
            house.take_calibration_back(probe_id, n, who)
            return f"/probes/{probe_id}/calibration#history"

        return counter.take(request, values, act)

    return routes
