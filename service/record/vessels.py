"""Vessels, probes, where they hang, and their calibrations."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, delete, func, insert, or_, select, update

from service.errors import ConflictError, NotFoundError
from service.record.facts import Assignment, CalibrationLine, Probe, Vessel
from service.record.tables import assignment, calibration, heater, probe, vessel


def vessels(connection: Connection) -> list[Vessel]:
    """Every vessel, newest first."""
    rows = connection.execute(
        select(vessel).where(vessel.c.removed_at.is_(None)).order_by(vessel.c.created_at.desc(), vessel.c.id)
    )
    return [_vessel(row._mapping) for row in rows]


def vessel_by_id(connection: Connection, vessel_id: str) -> Vessel:
    """One vessel; NotFoundError when there is none."""
    row = connection.execute(
        select(vessel).where(vessel.c.id == vessel_id, vessel.c.removed_at.is_(None))
    ).first()
    if row is None:
        raise NotFoundError(f"There is no vessel {vessel_id!r}.")
    return _vessel(row._mapping)


def _vessel(row: Mapping[Any, Any]) -> Vessel:
    return Vessel(
        id=row["id"],
        name=row["name"],
        kind=row["kind"],
        wall=row["wall"],
        volume_l=row["volume_l"],
        near=tuple(row["near"]),
        created_at=row["created_at"],
    )


def vessels_ever(connection: Connection) -> dict[str, Vessel]:
    """Every vessel by its id, those taken away included."""
    return {row.id: _vessel(row._mapping) for row in connection.execute(select(vessel))}


def add_vessel(connection: Connection, new: Vessel) -> None:
    """Store a new vessel."""
    connection.execute(
        insert(vessel).values(
            id=new.id,
            name=new.name,
            kind=new.kind,
            wall=new.wall,
            volume_l=new.volume_l,
            near=list(new.near),
            created_at=new.created_at,
        )
    )


def change_vessel(connection: Connection, vessel_id: str, changes: Mapping[str, Any]) -> None:
    """Change columns of a vessel."""
    if changes:
        connection.execute(update(vessel).where(vessel.c.id == vessel_id).values(**changes))


def vessel_ids(connection: Connection) -> set[str]:
    """Every id ever given to a vessel, removed ones included: an id is not used twice."""
    return {row[0] for row in connection.execute(select(vessel.c.id))}


def probes(connection: Connection) -> list[Probe]:
    """Every probe, newest first."""
    rows = connection.execute(
        select(probe).where(probe.c.removed_at.is_(None)).order_by(probe.c.created_at.desc(), probe.c.id)
    )
    return [_probe(row._mapping) for row in rows]


def probes_ever(connection: Connection) -> dict[str, Probe]:
    """Every probe by its id, those taken away included: their minutes stay."""
    return {row.id: _probe(row._mapping) for row in connection.execute(select(probe))}


def probe_by_id(connection: Connection, probe_id: str) -> Probe:
    """One probe; NotFoundError when there is none."""
    row = connection.execute(
        select(probe).where(probe.c.id == probe_id, probe.c.removed_at.is_(None))
    ).first()
    if row is None:
        raise NotFoundError(f"There is no probe {probe_id!r}.")
    return _probe(row._mapping)


def _probe(row: Mapping[Any, Any]) -> Probe:
    return Probe(
        id=row["id"],
        number=row["number"],
        label=row["label"],
        source=row["source"],
        address=row["address"],
        mounting=row["mounting"],
        interval_s=row["interval_s"],
        created_at=row["created_at"],
        resolution_bits=row["resolution_bits"],
        topic=row["topic"],
        path=row["path"],
        time_path=row["time_path"],
    )


def add_probe(
    connection: Connection,
    probe_id: str,
    label: str,
    source: str,
    address: str | None,
    interval_s: float | None,
    now: datetime,
) -> None:
    """Store a probe that appeared or was declared; one that was removed before comes back as it was."""
    known = connection.execute(select(probe.c.number).where(probe.c.id == probe_id)).first()
    if known is not None:
        connection.execute(update(probe).where(probe.c.id == probe_id).values(removed_at=None))
        return
    number = (connection.execute(select(func.max(probe.c.number))).scalar() or 0) + 1
    connection.execute(
        insert(probe).values(
            id=probe_id,
            number=number,
            label=label,
            source=source,
            address=address,
            interval_s=interval_s,
            created_at=now,
        )
    )


def change_probe(connection: Connection, probe_id: str, changes: Mapping[str, Any]) -> None:
    """Change columns of a probe."""
    if changes:
        connection.execute(update(probe).where(probe.c.id == probe_id).values(**changes))


def probe_ids(connection: Connection) -> set[str]:
    """Every id ever given to a probe."""
    return {row[0] for row in connection.execute(select(probe.c.id))}


def assignments(connection: Connection) -> list[Assignment]:
    """Every assignment, oldest first."""
    rows = connection.execute(select(assignment).order_by(assignment.c.from_at, assignment.c.id))
    return [Assignment(*row) for row in rows]


def assign(
    connection: Connection, probe_id: str, vessel_id: str | None, role: str | None, at: datetime
) -> None:
    """Hang a probe at a vessel in a role from `at` on; with None it hangs nowhere from then on.

    ConflictError when the vessel already has another liquid probe then, or the probe was assigned
    anew later than `at`.
    """
    later = connection.execute(
        select(assignment).where(assignment.c.probe_id == probe_id, assignment.c.from_at > at)
    ).first()
    if later is not None:
        raise ConflictError(f"The probe {probe_id} was assigned anew after {at:%Y-%m-%d %H:%M} UTC already.")
    if vessel_id is not None and role == "liquid":
        other = connection.execute(
            select(assignment.c.probe_id).where(
                assignment.c.vessel_id == vessel_id,
                assignment.c.role == "liquid",
                assignment.c.probe_id != probe_id,
                or_(assignment.c.to_at.is_(None), assignment.c.to_at > at),
            )
        ).first()
        if other is not None:
            raise ConflictError(
                f"The vessel {vessel_id} already has a liquid probe, {other[0]}. Take that one away first, "
                "or give this one another role."
            )
    connection.execute(
        update(assignment)
        .where(assignment.c.probe_id == probe_id, or_(assignment.c.to_at.is_(None), assignment.c.to_at > at))
        .values(to_at=at)
    )
    if vessel_id is not None and role is not None:
        connection.execute(
            insert(assignment).values(probe_id=probe_id, vessel_id=vessel_id, role=role, from_at=at)
        )


def calibrations(connection: Connection) -> list[CalibrationLine]:
    """Every calibration, oldest first; of two from the same time the one entered later counts."""
    rows = connection.execute(
        select(
            calibration.c.probe_id, calibration.c.from_at, calibration.c.slope, calibration.c.offset_c
        ).order_by(calibration.c.from_at, calibration.c.id)
    )
    return [CalibrationLine(*row) for row in rows]


def add_calibration(
    connection: Connection,
    probe_id: str,
    from_at: datetime,
    line: tuple[float, float, float],
    points: list[dict[str, Any]],
    now: datetime,
) -> int:
    """Store a line (slope, offset_c, uncertainty_c) with the points it came from; returns its number."""
    slope, offset_c, uncertainty_c = line
    done = connection.execute(
        insert(calibration).values(
            probe_id=probe_id,
            from_at=from_at,
            slope=slope,
            offset_c=offset_c,
            uncertainty_c=uncertainty_c,
            points=points,
            created_at=now,
        )
    )
    key = done.inserted_primary_key
    assert key is not None
    return int(key[0])


def calibration_history(connection: Connection, probe_id: str) -> list[Mapping[str, Any]]:
    """Every calibration of a probe with its points, newest first."""
    rows = connection.execute(
        select(calibration).where(calibration.c.probe_id == probe_id).order_by(calibration.c.id.desc())
    )
    return [dict(row._mapping) for row in rows]


def remove_calibration(connection: Connection, probe_id: str, number: int) -> None:
    """Take a calibration back; what was calibrated by it reads as before it."""
    done = connection.execute(
        delete(calibration).where(calibration.c.probe_id == probe_id, calibration.c.id == number)
    )
    if done.rowcount == 0:
        raise NotFoundError(f"The probe {probe_id} has no calibration {number}.")


def add_heater_changes(connection: Connection, vessel_id: str, changes: list[tuple[datetime, bool]]) -> None:
    """Store when a heater or cooler was switched by something else; the same time again replaces."""
    for at, on in changes:
        connection.execute(delete(heater).where(heater.c.vessel_id == vessel_id, heater.c.at == at))
        connection.execute(insert(heater).values(vessel_id=vessel_id, at=at, on=on))


def heater_changes(connection: Connection, vessel_id: str) -> list[tuple[datetime, bool]]:
    """When a vessel's heater was switched, oldest first."""
    rows = connection.execute(
        select(heater.c.at, heater.c.on).where(heater.c.vessel_id == vessel_id).order_by(heater.c.at)
    )
    return [(row.at, row.on) for row in rows]
