"""Care of probes and vessels: calibrate, swap a dead probe, keep a heater's record."""

from collections.abc import Mapping
from dataclasses import asdict
from datetime import timedelta
from typing import Any

from sqlalchemy import Connection

from sensors.calibration import MOST_POINTS, CalibrationRefusedError, Line, Point, fit, warnings
from service.actions.answers import CalibrationAnswer, HeaterAnswer, ProbeAnswer
from service.actions.asks import CalibrationPoint, HeaterChanges, Replacement
from service.actions.desk import Desk, not_ahead
from service.actions.probes import one_probe
from service.brewing.boiling import boiling_point
from service.errors import ConflictError, InvalidInputError, Problem
from service.record import vessels as stored

SAME_SITTING = timedelta(hours=24)
"""Points taken within a day belong to one calibration."""


def calibrations_of(desk: Desk, probe_id: str) -> list[CalibrationAnswer]:
    """The history of a probe's calibration, newest first."""
    with desk.record.reading() as connection:
        stored.probe_by_id(connection, probe_id)
        return [_answer(row) for row in stored.calibration_history(connection, probe_id)]


def calibrate(desk: Desk, probe_id: str, ask: CalibrationPoint) -> CalibrationAnswer:
    """Add a point; the line through the points of this sitting holds from the sitting's own time on."""
    now = desk.now()
    point = Point(ask.reading_c, _reference_c(ask))
    from_at = not_ahead(ask.from_ or now, now, "/from")

    def work(connection: Connection) -> None:
        stored.probe_by_id(connection, probe_id)
        before = next(iter(stored.calibration_history(connection, probe_id)), None)
        points, since = [point], from_at
        if before is not None and now - before["created_at"] < SAME_SITTING:
            earlier = [Point(**one) for one in before["points"]]
            if len(earlier) < MOST_POINTS:
                points, since = [*earlier, point], min(before["from_at"], from_at)
        try:
            line = fit(points, since)
        except CalibrationRefusedError as refused:
            raise InvalidInputError(Problem("/reading_c", str(refused), "Measure again.")) from None
        stored.add_calibration(
            connection,
            probe_id,
            since,
            (line.slope, line.offset_c, line.uncertainty_c),
            [asdict(one) for one in points],
            now,
        )

    desk.record.write(work)
    desk.watch.reload()
    return calibrations_of(desk, probe_id)[0]


def _reference_c(ask: CalibrationPoint) -> float:
    if ask.method == "boil":
        if ask.reference_c is not None:
            raise InvalidInputError(
                Problem("/reference_c", "follows from the air pressure or altitude", "Leave it out.")
            )
        return boiling_point(pressure_hpa=ask.pressure_hpa, altitude_m=ask.altitude_m).temp_c
    for name in ("pressure_hpa", "altitude_m"):
        if getattr(ask, name) is not None:
            raise InvalidInputError(Problem(f"/{name}", "belongs to boiling water only", "Leave it out."))
    if ask.method == "ice":
        if ask.reference_c not in (None, 0.0):
            raise InvalidInputError(
                Problem("/reference_c", "is 0 in ice water", "Leave it out, or use the method reference.")
            )
        return 0.0
    if ask.reference_c is None:
        raise InvalidInputError(Problem("/reference_c", "is missing", "Give what the reference showed."))
    return ask.reference_c


def _answer(row: Mapping[str, Any]) -> CalibrationAnswer:
    line = Line(row["slope"], row["offset_c"], row["uncertainty_c"], row["from_at"])
    return CalibrationAnswer(
        n=row["id"],
        from_=row["from_at"],
        slope=row["slope"],
        offset_c=row["offset_c"],
        uncertainty_c=row["uncertainty_c"],
        points=list(row["points"]),
        created_at=row["created_at"],
        warnings=list(warnings([Point(**one) for one in row["points"]], line)),
    )


def take_calibration_back(desk: Desk, probe_id: str, n: int) -> None:
    """Take a calibration back."""
    desk.record.write(lambda c: stored.remove_calibration(c, probe_id, n))
    desk.watch.reload()


def replace_probe(desk: Desk, probe_id: str, ask: Replacement) -> ProbeAnswer:
    """Another probe takes the place and role of this one from a time on."""
    now = desk.now()
    at = not_ahead(ask.at or now, now, "/at")
    if ask.with_ == probe_id:
        raise InvalidInputError(Problem("/with", "is the same probe", "Name the new one."))

    def work(connection: Connection) -> None:
        old = stored.probe_by_id(connection, probe_id)
        stored.probe_by_id(connection, ask.with_)
        here = desk.watch.house.assigned(now, probe_id)
        if here is None:
            raise ConflictError(f"The probe {probe_id} hangs nowhere, so there is nothing to take over.")
        if desk.watch.house.assigned(now, ask.with_) is not None:
            raise ConflictError(f"The probe {ask.with_} hangs in a vessel already. Take it away there first.")
        stored.assign(connection, probe_id, None, None, at)
        stored.assign(connection, ask.with_, here.vessel_id, here.role, at)
        stored.change_probe(connection, ask.with_, {"mounting": old.mounting})

    desk.record.write(work)
    desk.watch.forget(probe_id)
    desk.watch.reload()
    return one_probe(desk, ask.with_)


def note_heater(desk: Desk, vessel_id: str, ask: HeaterChanges) -> HeaterAnswer:
    """Keep when something else switched a heater or cooler at a vessel."""
    now = desk.now()
    changes = [(not_ahead(one.at, now, f"/changes/{n}/at"), one.on) for n, one in enumerate(ask.changes)]

    def work(connection: Connection) -> int:
        stored.vessel_by_id(connection, vessel_id)
        stored.add_heater_changes(connection, vessel_id, changes)
        return len(stored.heater_changes(connection, vessel_id))

    return HeaterAnswer(known=desk.record.write(work))
