"""The room as a person reads it: one thermometer for each vessel, made when it is read first."""

from datetime import datetime, timedelta

from sqlalchemy import Connection

from sensors.sample import ProbeId
from service.actions.asks import NewProbe
from service.actions.desk import Desk
from service.actions.known import vessel_at
from service.actions.probes import declare_probe
from service.errors import ConflictError, InvalidInputError, Problem
from service.record.facts import Batch
from service.record.minutes import minutes_of
from service.record.types import EPOCH
from service.record.vessels import vessel_by_id
from service.watch.fold import minute_of
from service.watch.house import House
from service.watch.typed import COLDEST_C, TYPED, WARMEST_C, age_words

LABEL = "Room thermometer, read by hand"
LOOKED_BACK = timedelta(days=30)


def read_by_hand(desk: Desk, vessel_id: str, temp_c: float) -> str:
    """Keep what the thermometer beside a vessel shows now; returns its probe's id.

    InvalidInputError: no room is so cold or warm. NotFoundError: no such vessel. ConflictError: another
    value was typed in within this moment.
    """
    if not COLDEST_C <= temp_c <= WARMEST_C:
        raise InvalidInputError(
            Problem("/temp_c", f"must lie between {COLDEST_C:g} and {WARMEST_C:g} C", "Give degrees Celsius.")
        )
    with desk.record.reading() as connection:
        vessel = vessel_by_id(connection, vessel_id)
    now = desk.now()
    here = desk.watch.house.probes_at(vessel_id, now)
    probe_id = next((probe.id for probe, _ in here if probe.source == TYPED), None)
    if probe_id is None:
        label = f"{LABEL} ({vessel.name})"
        ask = NewProbe(label=label, source="typed", vessel_id=vessel_id, role="surroundings")
        probe_id = declare_probe(desk, ask).id
    if desk.watch.arrive(ProbeId(probe_id), [(0, now, temp_c)]).refused:
        raise ConflictError("Another value was typed in at this very moment. Try again.")
    return probe_id


def read_by_hand_words(connection: Connection, house: House, row: Batch, at: datetime) -> list[str]:
    """What to know of an estimate whose room a person read: how old that is; nothing where a probe did."""
    vessel_id = vessel_at(row, at)
    probe = None if vessel_id is None else house.probe_of(vessel_id, "surroundings", at)
    if probe is None or probe.source != TYPED:
        return []
    rows = minutes_of(connection, probe.number, minute_of(at - LOOKED_BACK), minute_of(at) + 1)
    if not rows:
        return ["The room's temperature is to be typed in, and nothing was yet."]
    age = max(at - (EPOCH + timedelta(minutes=rows[-1].minute)), timedelta(0))
    return [f"The room: {age_words(age)[:1].lower()}{age_words(age)[1:]} So this is rougher than it says."]
