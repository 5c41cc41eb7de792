"""What an opened bottle's gravity says, held against the beer that went into the bottles."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import Connection

from service.actions.evidence import HourMean, corrected_or_none, reading_context
from service.actions.known import packaged_at as left_the_fermenter
from service.brewing.opened import Opened, opened
from service.brewing.readings import CorrectedReading, ReadingContext, ReadingKind, reading
from service.brewing.steadiness import DirectReading
from service.plans.course import elapse
from service.record.entries import Entry, entries
from service.record.facts import Batch
from service.watch.house import live_batch


def correct_opening(body: Mapping[str, Any]) -> CorrectedReading:
    """The gravity an opened bottle stands for; InvalidInputError in words."""
    return reading(by=ReadingKind.HYDROMETER, context=ReadingContext(), **body)


def opening_answer(connection: Connection, row: Batch, entry: Entry) -> dict[str, Any]:
    """The members that are computed: gravity with its interval, and what the comparison says."""
    own = correct_opening(entry.body)
    said = against_packaged(connection, row, own, entry.at)
    return {
        "corrected_sg": own.corrected_sg,
        "low": own.low,
        "high": own.high,
        "fell_pt": None if said is None else round(said.fell_pt.value, 2),
        "fell": None if said is None else said.fell,
        "says": None if said is None else said.sentence,
        "cautions": [] if said is None else list(said.cautions),
    }


def against_packaged(
    connection: Connection, row: Batch, own: CorrectedReading, at: datetime
) -> Opened | None:
    """An opened bottle against the last reading before packaging; None where there is none of that."""
    when = packaged_at(connection, row, at)
    before = direct_readings(connection, row, when, ()) if when is not None else ()
    last = next((r for r in reversed(before) if r.by is not ReadingKind.LIMIT_JAR), None)
    if last is None:
        return None
    return opened(
        before_sg=last.sg,
        before_low=last.low,
        before_high=last.high,
        sg=own.corrected_sg,
        low=own.low,
        high=own.high,
    )


def packaged_at(connection: Connection, row: Batch, at: datetime) -> datetime | None:
    """When a batch was first packaged, by what was written down, else by its course; not after `at`."""
    written = [e.at for e in entries(connection, row.id, "packagings") if e.at <= at]
    if written:
        return min(written)
    live = live_batch(row)
    left = left_the_fermenter(live.plan, elapse(live.plan, live.course, at))
    return left if left is not None and left <= at else None


def direct_readings(
    connection: Connection, row: Batch, until: datetime, hours: Sequence[HourMean]
) -> tuple[DirectReading, ...]:
    """Readings of the beer until a time, oldest first, corrected; what cannot be corrected is left out."""
    readings = entries(connection, row.id, "readings")
    additions = entries(connection, row.id, "additions")
    found = []
    for entry in sorted(readings, key=lambda e: (e.at, e.n)):
        if entry.at > until:
            continue
        one = corrected_or_none(entry, reading_context(row, readings, additions, entry.at, hours))
        if one is not None:
            kind = ReadingKind(entry.body["by"])
            found.append(DirectReading(entry.at, kind, one.corrected_sg, one.low, one.high))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Packed:
    """What the beer of a batch went into, added up. sugar_g: None where it is not written down."""

    litres: float
    sugar_g: float | None
    kegged: bool


def packed(connection: Connection, batch_id: str, until: datetime) -> Packed | None:
    """Everything packaged until a time, or None."""
    found = [e.body for e in entries(connection, batch_id, "packagings") if e.at <= until]
    units = [u for body in found for u in body["units"]]
    if not units:
        return None
    sugar = [body.get("sugar_g") for body in found]
    known = [g for g in sugar if g is not None]
    return Packed(
        litres=sum(u["size_l"] * u["count"] for u in units),
        sugar_g=sum(known) if len(known) == len(sugar) else None,
        kegged=all(u["kind"] == "keg" for u in units),
    )
