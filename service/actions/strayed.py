"""What was done about a stray: who answered, what was moved, switched and written down meanwhile."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection

from service.actions.answers import BatchStray
from service.actions.insight_answers import DoneAnswer, StrayLooked
from service.record.alarms import alarms
from service.record.entries import entries
from service.record.facts import Batch
from service.record.vessels import heater_changes, vessels_ever

AFTERWARDS = timedelta(hours=2)
"""What is done so soon after a stray still belongs to it."""

MOST_ALARMS = 1000


@dataclass(frozen=True, slots=True)
class _Deed:
    at: datetime
    vessel_id: str | None
    what: str


def strays_looked(connection: Connection, row: Batch, strays: Sequence[BatchStray]) -> list[StrayLooked]:
    """Each stray with its length, how far it went, and what was done."""
    deeds = sorted(_deeds(connection, row), key=lambda deed: deed.at)
    return [
        StrayLooked(
            **dict(stray),
            lasted_s=(stray.to - stray.from_).total_seconds(),
            done=[
                DoneAnswer(at=deed.at, what=deed.what)
                for deed in deeds
                if stray.from_ <= deed.at <= stray.to + AFTERWARDS
                and (deed.vessel_id is None or deed.vessel_id == stray.vessel_id)
            ],
        )
        for stray in strays
    ]


def _deeds(connection: Connection, row: Batch) -> Iterator[_Deed]:
    names = vessels_ever(connection)
    for number, state in alarms(connection, None, None, MOST_ALARMS, None, row.id):
        if state.acknowledged_at is not None:
            who = f" by {state.acknowledged_by}" if state.acknowledged_by else ""
            yield _Deed(
                state.acknowledged_at,
                state.subject.vessel_id,
                f"alarm a-{number} ({state.subject.key}) acknowledged{who}",
            )
    for note in entries(connection, row.id, "notes"):
        yield _Deed(note.at, None, f"noted: {note.body['text']}")
    for place in row.places[1:]:
        vessel = names.get(place.vessel_id)
        yield _Deed(place.from_at, None, f"moved to {place.vessel_id if vessel is None else vessel.name}")
    for vessel_id in dict.fromkeys(place.vessel_id for place in row.places):
        for at, on in heater_changes(connection, vessel_id):
            yield _Deed(at, vessel_id, f"heater or cooler switched {'on' if on else 'off'}")
