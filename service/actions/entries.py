"""Writing down what a brewer tells of a batch, list by list."""

from dataclasses import asdict
from datetime import datetime
from typing import Any

from pydantic import ValidationError
from sqlalchemy import Connection

from service.actions.desk import Desk, not_ahead
from service.actions.entry_asks import ASKS, NewPackaging
from service.actions.evidence import corrected, corrected_or_none, everything_of, reading_context
from service.actions.openings import correct_opening, opening_answer
from service.actions.wire import Ask, as_text
from service.brewing.readings import CorrectedReading
from service.errors import InvalidInputError, Problem
from service.record import entries as stored
from service.record.batches import batch_by_id
from service.record.entries import Entry
from service.record.facts import Batch

BOTTLED_BEYOND = 1.15
"""More packages than beer by this share is a slip of the pen (a batch is never measured better)."""


def every_entry(desk: Desk, batch_id: str, name: str) -> list[dict[str, Any]]:
    """The entries of a list, newest first; readings with what they stand for."""
    with desk.record.reading() as connection:
        row = batch_by_id(connection, batch_id)
        found = stored.entries(connection, batch_id, name)
        return [_answer(desk, connection, row, name, one) for one in found]


def write_down(desk: Desk, batch_id: str, name: str, ask: Ask) -> dict[str, Any]:
    """Store an entry; a reading that cannot stand for a gravity is refused."""
    now = desk.now()
    at, body = _at_and_body(ask, now)

    def work(connection: Connection) -> int:
        row = batch_by_id(connection, batch_id)
        _refuse_impossible(desk, connection, row, name, ask, Entry(0, at, body, now))
        return stored.add_entry(connection, batch_id, name, at, body, now)

    n = desk.record.write(work)
    return _one(desk, batch_id, name, n)


def put_right(desk: Desk, batch_id: str, name: str, n: int, patch: dict[str, Any]) -> dict[str, Any]:
    """Change an entry (JSON merge patch), checked like a new one."""
    now = desk.now()

    def work(connection: Connection) -> None:
        row = batch_by_id(connection, batch_id)
        before = stored.entry_by_number(connection, batch_id, name, n)
        whole = {**before.body, "at": as_text(before.at), **patch}
        ask = validated(name, {key: value for key, value in whole.items() if value is not None})
        at, body = _at_and_body(ask, now)
        _refuse_impossible(desk, connection, row, name, ask, Entry(n, at, body, before.created_at))
        stored.change_entry(connection, batch_id, name, n, at, body)

    desk.record.write(work)
    return _one(desk, batch_id, name, n)


def strike_out(desk: Desk, batch_id: str, name: str, n: int) -> None:
    """Take an entry out."""
    now = desk.now()

    def work(connection: Connection) -> None:
        batch_by_id(connection, batch_id)
        stored.remove_entry(connection, batch_id, name, n, now)

    desk.record.write(work)


def validated(name: str, body: dict[str, Any]) -> Ask:
    """A body checked against its list's model; InvalidInputError names each field."""
    try:
        return ASKS[name].model_validate(body)
    except ValidationError as wrong:
        raise InvalidInputError(
            *(
                Problem(
                    "".join(f"/{part}" for part in error["loc"]),
                    "is not known here" if error["type"] == "extra_forbidden" else str(error["msg"]),
                    "Check it against what this list takes.",
                )
                for error in wrong.errors(include_input=False, include_context=False)
            )
        ) from None


def _at_and_body(ask: Ask, now: datetime) -> tuple[datetime, dict[str, Any]]:
    body = ask.model_dump(mode="python")
    at = body.pop("at") or now
    return not_ahead(at, now, "/at"), {key: value for key, value in body.items() if value is not None}


def _refuse_impossible(
    desk: Desk, connection: Connection, row: Batch, name: str, ask: Ask, entry: Entry
) -> None:
    if name == "readings":
        _correct(desk, connection, row, entry, strictly=True)
    if name == "openings":
        correct_opening(entry.body)
    if isinstance(ask, NewPackaging) and row.volume_l is not None:
        litres = sum(unit.size_l * unit.count for unit in ask.units)
        if litres > BOTTLED_BEYOND * row.volume_l:
            raise InvalidInputError(
                Problem(
                    "/units",
                    f"these hold {litres:.1f} l, but the batch has {row.volume_l:g} l",
                    "Check sizes and counts, or put the batch's volume right.",
                )
            )


def _correct(
    desk: Desk, connection: Connection, row: Batch, entry: Entry, *, strictly: bool
) -> CorrectedReading | None:
    readings = stored.entries(connection, row.id, "readings")
    every = [e for e in readings if e.n != entry.n] + [entry]
    additions = stored.entries(connection, row.id, "additions")
    hours = everything_of(desk, row, connection, desk.now()) if entry.body["by"] == "weight" else []
    context = reading_context(row, every, additions, entry.at, hours)
    return corrected(entry, context) if strictly else corrected_or_none(entry, context)


def _one(desk: Desk, batch_id: str, name: str, n: int) -> dict[str, Any]:
    with desk.record.reading() as connection:
        row = batch_by_id(connection, batch_id)
        return _answer(desk, connection, row, name, stored.entry_by_number(connection, batch_id, name, n))


def _answer(desk: Desk, connection: Connection, row: Batch, name: str, entry: Entry) -> dict[str, Any]:
    members = {key: None for key in ASKS[name].model_fields if key != "at"}
    answer = {"n": entry.n, "at": as_text(entry.at), **members, **entry.body}
    if name == "readings":
        found = _correct(desk, connection, row, entry, strictly=False)
        answer |= {
            "corrected_sg": None if found is None else found.corrected_sg,
            "low": None if found is None else found.low,
            "high": None if found is None else found.high,
            "working": None if found is None else asdict(found.working),
        }
    if name == "openings":
        answer |= opening_answer(connection, row, entry)
    return answer
