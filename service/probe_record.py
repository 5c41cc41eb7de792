"""What the running service has noted of each probe, read from its record: for `gylewatch probes`.

One look at the bus cannot tell a value that has stood still for hours, or a probe that is pulled but still
listed; the service, which looks all day, counts them.
"""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, create_engine
from sqlalchemy.exc import DBAPIError

from sensors.faults import sentence_for
from sensors.sample import FaultKind
from service.record.marks import faults_since
from service.record.minutes import minutes_of, newest_minute
from service.record.sqlite import reading_engine
from service.record.types import EPOCH
from service.record.vessels import assignments, calibrations, probes
from service.watch.house import line_at
from service.watch.typed import TYPED

HOUR = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Noted:
    """One probe as the record knows it.

    place: "liquid of bucket", or empty. last_c: the mean of its newest minute, calibrated. faults: counted in
    this clock hour and the one before, by kind.
    """

    id: str
    label: str
    source: str
    place: str
    last_at: datetime | None
    last_c: float | None
    faults: dict[FaultKind, int]

    def as_json(self) -> dict[str, Any]:
        """For machines."""
        return {
            "id": self.id,
            "label": self.label,
            "source": self.source,
            "place": self.place,
            "last_at": None if self.last_at is None else self.last_at.isoformat().replace("+00:00", "Z"),
            "last_c": self.last_c,
            "faults": [
                {"kind": kind.value, "count": count, "explained": sentence_for(kind)}
                for kind, count in sorted(self.faults.items())
            ],
        }


def read_noted(folder: Path, url: str | None, now: datetime) -> tuple[list[Noted], str]:
    """What the record says, oldest probe first, and why it could not be read, if so. Nothing is changed."""
    path = folder / "record.db"
    try:
        if url is None and not path.exists():
            return [], ""
    except PermissionError:
        return [], f"The record in {folder} may not be read by this user; try with sudo."
    engine = create_engine(url) if url else reading_engine(path)
    try:
        with engine.connect() as connection:
            return noted(connection, now), ""
    except DBAPIError as refused:
        return [], f"The record cannot be read: {refused.orig}."
    finally:
        engine.dispose()


def noted(connection: Connection, now: datetime) -> list[Noted]:
    """Every probe in use, oldest first."""
    counted = faults_since(connection, since(now))
    hung = {a.probe_id: f"{a.role} of {a.vessel_id}" for a in assignments(connection) if a.to_at is None}
    lines = calibrations(connection)
    found = []
    for probe in reversed(probes(connection)):
        newest = newest_minute(connection, probe.number)
        row = None if newest is None else minutes_of(connection, probe.number, newest, newest + 1)[0]
        at = None if row is None else EPOCH + timedelta(minutes=row.minute)
        last_c = None
        if row is not None and at is not None:
            line = line_at(tuple(one for one in lines if one.probe_id == probe.id), at)
            last_c = row.mean_mc / 1000 if line is None else line.slope * row.mean_mc / 1000 + line.offset_c
        found.append(
            Noted(
                probe.id,
                probe.label,
                probe.source,
                hung.get(probe.id, ""),
                at,
                None if last_c is None else round(last_c, 3),
                counted.get(probe.id, {}),
            )
        )
    return found


def since(now: datetime) -> datetime:
    """From when on faults are counted: the clock hour before this one."""
    return now.astimezone(UTC).replace(minute=0, second=0, microsecond=0) - HOUR


def said(one: Noted) -> list[str]:
    """A probe as lines of text, its faults explained."""
    words = one.label if one.label != one.id else ""
    place = f"{words}, {one.place}" if words and one.place else words or one.place or "hangs nowhere yet"
    if one.last_at is None or one.last_c is None:
        last = "nothing measured yet"
    else:
        hand = " read by hand" if one.source == TYPED else ""
        last = f"{one.last_c:.2f} C{hand} at {one.last_at:%Y-%m-%d %H:%M} UTC"
    lines = [f"{one.id}  {place}: {last}"]
    for kind, count in sorted(one.faults.items()):
        lines.append(f"    {kind.value}, {'once' if count == 1 else f'{count} times'}: {sentence_for(kind)}")
    return lines
