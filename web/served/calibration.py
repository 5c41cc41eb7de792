"""The calibration of probes on the running service."""

from collections.abc import Mapping
from typing import Any

from service.actions import care, probes
from service.actions.asks import CalibrationPoint
from service.actions.desk import Desk
from service.watch.house import line_at
from web.pages.calibration import CalibrationView, PastCalibration
from web.served.asked import asked


class CalibrationPart:
    """What the page of a calibration asks."""

    _desk: Desk

    def calibration(self, probe_id: str) -> CalibrationView:
        """A probe with the history of its calibration, and what it shows without correction."""
        one = probes.one_probe(self._desk, probe_id)
        raw_c = None
        if one.last is not None:
            line = line_at(self._desk.watch.house.lines.get(probe_id, ()), one.last.at)
            raw_c = one.last.temp_c if line is None else (one.last.temp_c - line.offset_c) / line.slope
        history = tuple(
            PastCalibration(
                n=past.n,
                from_at=past.from_,
                created_at=past.created_at,
                slope=past.slope,
                offset_c=past.offset_c,
                uncertainty_c=past.uncertainty_c,
                points=tuple((point["reading_c"], point["reference_c"]) for point in past.points),
                warnings=tuple(past.warnings),
            )
            for past in care.calibrations_of(self._desk, probe_id)
        )
        return CalibrationView(one.id, one.label, raw_c, None if one.last is None else one.last.at, history)

    def calibrate(self, probe_id: str, by: str, fields: Mapping[str, Any]) -> None:  # noqa: ARG002
        """Add a point."""
        care.calibrate(self._desk, probe_id, asked(CalibrationPoint, fields))

    def take_calibration_back(self, probe_id: str, n: int, by: str) -> None:  # noqa: ARG002
        """Take a calibration back."""
        care.take_calibration_back(self._desk, probe_id, n)
