"""Dated absences of the brewer, and who works at which vessel."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, delete, insert, select, update

from service.errors import NotFoundError
from service.record.facts import Absence, Working
from service.record.marks import set_mark
from service.record.tables import absence, mark

WORKING = "working:"


def absences(connection: Connection) -> list[Absence]:
    """Every absence, the one that begins last first."""
    rows = connection.execute(select(absence).order_by(absence.c.from_at.desc(), absence.c.id))
    return [Absence(**row._mapping) for row in rows]


def absence_by_id(connection: Connection, absence_id: str) -> Absence:
    """One absence; NotFoundError when there is none."""
    row = connection.execute(select(absence).where(absence.c.id == absence_id)).first()
    if row is None:
        raise NotFoundError(f"There is no absence {absence_id!r}.")
    return Absence(**row._mapping)


def add_absence(connection: Connection, new: Absence) -> None:
    """Store a new absence."""
    connection.execute(
        insert(absence).values(
            id=new.id,
            from_at=new.from_at,
            to_at=new.to_at,
            channel_id=new.channel_id,
            note=new.note,
            created_at=new.created_at,
        )
    )


def change_absence(connection: Connection, absence_id: str, changes: Mapping[str, Any]) -> None:
    """Change columns of an absence."""
    if changes:
        connection.execute(update(absence).where(absence.c.id == absence_id).values(**changes))


def remove_absence(connection: Connection, absence_id: str) -> None:
    """Take an absence out; NotFoundError when there is none."""
    absence_by_id(connection, absence_id)
    connection.execute(delete(absence).where(absence.c.id == absence_id))


def workings(connection: Connection) -> dict[str, Working]:
    """Who works at which vessel, by the vessel's id; those that are over are among them."""
    rows = connection.execute(select(mark).where(mark.c.name.startswith(WORKING, autoescape=True)))
    return {
        row.name.removeprefix(WORKING): Working(
            datetime.fromisoformat(row.value["since"]),
            datetime.fromisoformat(row.value["until"]),
            row.value["reason"],
        )
        for row in rows
    }


def set_working(connection: Connection, vessel_id: str, working: Working | None) -> None:
    """Remember that somebody works at a vessel, or (None) that nobody does any more."""
    if working is None:
        connection.execute(delete(mark).where(mark.c.name == WORKING + vessel_id))
        return
    value = {
        "since": working.since.isoformat(),
        "until": working.until.isoformat(),
        "reason": working.reason,
    }
    set_mark(connection, WORKING + vessel_id, value)
