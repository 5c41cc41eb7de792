"""What a batch's own record says: its temperatures by the hour, its readings corrected, its additions."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection

from service.actions.desk import Desk
from service.actions.role_curve import role_curve
from service.brewing.additions import addition
from service.brewing.readings import CorrectedReading, ReadingContext, ReadingKind, reading
from service.errors import InvalidInputError
from service.plans.course import elapse
from service.record.entries import Entry, entries
from service.record.facts import Batch
from service.record.types import EPOCH
from service.watch.house import House, live_batch

USUAL_BEER_C = 20.0


@dataclass(frozen=True, slots=True)
class HourMean:
    """The mean temperature of the beer over the hour that begins at `at`, calibrated."""

    at: datetime
    temp_c: float


def beer_hours(
    connection: Connection, house: House, row: Batch, from_at: datetime, to_at: datetime
) -> list[HourMean]:
    """The batch's liquid probes by the hour, wherever the batch was, oldest first."""
    where = [
        (
            place.vessel_id,
            max(from_at, place.from_at),
            to_at if place.to_at is None else min(to_at, place.to_at),
        )
        for place in row.places
    ]
    return [
        HourMean(EPOCH + timedelta(minutes=part.start_minute), part.mean_mc / 1000)
        for part in role_curve(connection, house, where, "liquid", 60)
    ]


def pitched_at(row: Batch, now: datetime) -> datetime | None:
    """When the yeast was pitched, as far as the course tells."""
    live = live_batch(row)
    return elapse(live.plan, live.course, now).pitched_at


def reading_context(
    row: Batch, readings: Sequence[Entry], additions: Sequence[Entry], at: datetime, hours: Sequence[HourMean]
) -> ReadingContext:
    """What the batch knows that a reading at `at` needs."""
    weighings = sorted((e for e in readings if e.body.get("by") == "weight"), key=lambda e: (e.at, e.n))
    first = weighings[0] if weighings and weighings[0].at <= at else None
    since = None if first is None else first.at
    added = sum(
        e.body["mass_g"] / 1000 + e.body["water_l"]
        for e in additions
        if since is not None and since < e.at <= at
    )
    near = min(hours, key=lambda h: abs(h.at - at), default=None)
    known = near is not None and abs(near.at - at) <= timedelta(hours=3)
    return ReadingContext(
        og=row.og,
        volume_l=row.volume_l,
        first_kg=None if first is None else first.body.get("kg"),
        added_kg=added,
        beer_c=near.temp_c if near is not None and known else USUAL_BEER_C,
    )


def corrected(entry: Entry, context: ReadingContext) -> CorrectedReading:
    """A stored reading, corrected by its kind; InvalidInputError when the batch lacks what it needs."""
    body = {name: value for name, value in entry.body.items() if name not in ("by", "at")}
    return reading(by=ReadingKind(entry.body["by"]), context=context, **body)


def corrected_or_none(entry: Entry, context: ReadingContext) -> CorrectedReading | None:
    """The same, or None where it cannot be told."""
    try:
        return corrected(entry, context)
    except InvalidInputError:
        return None


def end_moved_by(row: Batch, additions: Sequence[Entry]) -> float:
    """By how many points additions have moved the expected end."""
    if row.og is None or row.volume_l is None:
        return 0.0
    return sum(
        addition(
            volume_l=row.volume_l,
            sg=row.og,
            mass_g=e.body["mass_g"],
            extract_share=e.body["extract_share"],
            fermentable_share=e.body["fermentable_share"],
            water_l=e.body["water_l"],
        ).expected_fg_change_pt
        for e in additions
    )


def written(connection: Connection, batch_id: str, at: datetime) -> dict[str, list[Entry]]:
    """Readings, sightings and additions whose own time is not later than `at`."""
    return {
        name: [e for e in entries(connection, batch_id, name) if e.at <= at]
        for name in ("readings", "sightings", "additions")
    }


def everything_of(desk: Desk, row: Batch, connection: Connection, at: datetime) -> list[HourMean]:
    """The beer's hours from pitching (or the start) to `at`."""
    return beer_hours(connection, desk.watch.house, row, pitched_at(row, at) or row.started_at, at)
