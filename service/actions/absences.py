"""Absences of the brewer: during one, alarms go to the channel named for it, in words for a helper."""

from datetime import datetime

from pydantic import Field
from sqlalchemy import Connection

from service.actions.desk import Desk, changes_of, short_id
from service.actions.wire import Answer, Ask, Instant, Text
from service.errors import ConflictError, InvalidInputError, NotFoundError, Problem
from service.record import absences as stored
from service.record.facts import Absence
from service.record.outbox import channel_by_id

LONGEST_D = 366


class NewAbsence(Ask):
    """From when until when nobody is there who brews, and the channel that a helper reads."""

    from_: Instant = Field(alias="from")
    to: Instant
    channel_id: str
    note: Text | None = None


class AbsenceChange(Ask):
    """A change of an absence (JSON merge patch)."""

    from_: Instant | None = Field(default=None, alias="from")
    to: Instant | None = None
    channel_id: str | None = None
    note: Text | None = None


class AbsenceAnswer(Answer):
    """An absence."""

    id: str
    from_: Instant = Field(serialization_alias="from")
    to: Instant
    channel_id: str
    note: str | None


def every_absence(desk: Desk) -> list[AbsenceAnswer]:
    """Every absence, the one that begins last first."""
    with desk.record.reading() as connection:
        return [_answer(one) for one in stored.absences(connection)]


def one_absence(desk: Desk, absence_id: str) -> AbsenceAnswer:
    """One absence."""
    with desk.record.reading() as connection:
        return _answer(stored.absence_by_id(connection, absence_id))


def make_absence(desk: Desk, ask: NewAbsence) -> AbsenceAnswer:
    """A new absence; one that touches another is refused, since only one channel can be named at a time."""
    now = desk.now()

    def work(connection: Connection) -> str:
        every = stored.absences(connection)
        day = ask.from_.astimezone(desk.zone)
        new = Absence(
            id=short_id(f"away {day:%Y-%m-%d}", {a.id for a in every}, "away"),
            from_at=ask.from_,
            to_at=ask.to,
            channel_id=ask.channel_id,
            note=ask.note,
            created_at=now,
        )
        _check(connection, new, every, now)
        stored.add_absence(connection, new)
        return new.id

    absence_id = desk.record.write(work)
    desk.watch.reload()
    return one_absence(desk, absence_id)


def alter_absence(desk: Desk, absence_id: str, ask: AbsenceChange) -> AbsenceAnswer:
    """Change an absence."""
    given = changes_of(ask, ("from_", "to", "channel_id"))
    columns = {"from_": "from_at", "to": "to_at"}
    changes = {columns.get(name, name): value for name, value in given.items()}
    now = desk.now()

    def work(connection: Connection) -> None:
        old = stored.absence_by_id(connection, absence_id)
        new = Absence(
            id=old.id,
            from_at=changes.get("from_at", old.from_at),
            to_at=changes.get("to_at", old.to_at),
            channel_id=changes.get("channel_id", old.channel_id),
            note=changes.get("note", old.note),
            created_at=old.created_at,
        )
        _check(connection, new, [a for a in stored.absences(connection) if a.id != old.id], now)
        stored.change_absence(connection, absence_id, changes)

    desk.record.write(work)
    desk.watch.reload()
    return one_absence(desk, absence_id)


def take_absence_out(desk: Desk, absence_id: str) -> None:
    """The brewer is there after all."""
    desk.record.write(lambda connection: stored.remove_absence(connection, absence_id))
    desk.watch.reload()


def refuse_while_named(connection: Connection, channel_id: str, now: datetime) -> None:
    """ConflictError while an absence that is not over names this channel."""
    named = [a for a in stored.absences(connection) if a.channel_id == channel_id and a.to_at > now]
    if named:
        raise ConflictError(
            f"The absence {named[-1].id} names this channel. Name another channel there, or take that "
            "absence out first."
        )


def _check(connection: Connection, new: Absence, others: list[Absence], now: datetime) -> None:
    problems = []
    if new.to_at <= new.from_at:
        problems.append(Problem("/to", "is not after from", "Give a later time."))
    elif new.to_at <= now:
        problems.append(Problem("/to", "has passed already", "Give a time to come."))
    elif (new.to_at - new.from_at).days > LONGEST_D:
        problems.append(Problem("/to", "is over a year after from", "Check the year."))
    try:
        channel_by_id(connection, new.channel_id)
    except NotFoundError:
        problems.append(
            Problem("/channel_id", "names no channel", "Make the channel that the helper reads first.")
        )
    if problems:
        raise InvalidInputError(*problems)
    other = next((a for a in others if a.from_at < new.to_at and new.from_at < a.to_at), None)
    if other is not None:
        raise ConflictError(
            f"The absence {other.id} lies in the same time. Change that one, or give other times."
        )


def _answer(one: Absence) -> AbsenceAnswer:
    return AbsenceAnswer(id=one.id, from_=one.from_at, to=one.to_at, channel_id=one.channel_id, note=one.note)
