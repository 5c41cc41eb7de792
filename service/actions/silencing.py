"""Silence by design: somebody works at a vessel; a kind of alarm is out of service.

Shelving (see `alarms`) silences one alarm that stands. Working prevents what hands would raise. Out of
service is for a kind of alarm that makes no sense at a vessel, a probe or a channel, until put back.
"""

from collections.abc import Callable
from datetime import timedelta
from typing import Annotated

from pydantic import Field
from sqlalchemy import Connection

from service.actions.desk import Desk
from service.actions.wire import Answer, Ask, Instant, Name, Number
from service.alarms.catalogue import CATALOGUE
from service.alarms.lifecycle import MOST_SHELVE_S, Event, return_to_service, take_out_of_service
from service.alarms.model import Subject
from service.errors import InvalidInputError, NotFoundError, Problem
from service.record.absences import set_working
from service.record.alarms import last_transition
from service.record.facts import Working
from service.record.outbox import channel_by_id
from service.record.vessels import probe_by_id, vessel_by_id
from service.watch.asked import KEYS as ASKED_ONCE
from service.watch.book import BREWER
from service.watch.judge import OF_THE_WATCH

OF_PROBES = frozenset({"no-reading", "probe-fault", "probe-frozen", "probe-adrift"})
OF_CHANNELS = frozenset({"channel-failing"})
MEMBERS = ("vessel_id", "probe_id", "channel_id")


class StartWorking(Ask):
    """Somebody works at a vessel for so long: a minute to a day."""

    for_s: Annotated[Number, Field(ge=60, le=MOST_SHELVE_S)]
    reason: Name


class WorkingAnswer(Answer):
    """Somebody works at a vessel."""

    vessel_id: str
    since: Instant
    until: Instant
    reason: str


class NewOutOfService(Ask):
    """A kind of alarm of one vessel, one probe, one channel, or of the watch itself."""

    key: str
    vessel_id: str | None = None
    probe_id: str | None = None
    channel_id: str | None = None
    reason: Name


class OutOfServiceAnswer(Answer):
    """What raises no alarm until it is put back. cause: who took it out, and why."""

    id: str
    key: str
    vessel_id: str | None
    probe_id: str | None
    channel_id: str | None
    since: Instant | None
    cause: str


def start_working(desk: Desk, vessel_id: str, ask: StartWorking) -> WorkingAnswer:
    """From now on; saying it again sets a new end."""
    now = desk.now()
    working = Working(now, now + timedelta(seconds=ask.for_s), ask.reason)

    def work(connection: Connection) -> None:
        vessel_by_id(connection, vessel_id)
        set_working(connection, vessel_id, working)

    desk.record.write(work)
    desk.watch.reload()
    return _working(vessel_id, working)


def who_works(desk: Desk, vessel_id: str) -> WorkingAnswer:
    """Who works at a vessel now; NotFoundError when nobody does."""
    with desk.record.reading() as connection:
        vessel_by_id(connection, vessel_id)
    working = desk.watch.house.working.get(vessel_id)
    if working is None or not working.holds(desk.now()):
        raise NotFoundError(f"Nobody works at {vessel_id} now.")
    return _working(vessel_id, working)


def stop_working(desk: Desk, vessel_id: str) -> None:
    """Done before its time; NotFoundError when nobody worked there."""
    who_works(desk, vessel_id)
    desk.record.write(lambda connection: set_working(connection, vessel_id, None))
    desk.watch.reload()


def everything_out_of_service(desk: Desk) -> list[OutOfServiceAnswer]:
    """Everything that was taken out of service, by its id."""
    with desk.record.reading() as connection:
        found = [_out(connection, state.subject) for state in desk.watch.out_of_service()]
    return sorted(found, key=lambda one: one.id)


def take_out(desk: Desk, ask: NewOutOfService, by: str = BREWER) -> OutOfServiceAnswer:
    """No new alarms of this kind there. ConflictError when it is out of service already."""
    subject = _subject(desk, ask)
    desk.watch.handle_subject(subject, lambda s, now: take_out_of_service(s, ask.reason, by, now))
    with desk.record.reading() as connection:
        return _out(connection, subject)


def put_back(desk: Desk, which: str, by: str = BREWER) -> None:
    """Back into service; NotFoundError when it is in service."""
    state = next((s for s in desk.watch.out_of_service() if _id(s.subject) == which), None)
    if state is None:
        raise NotFoundError(f"{which!r} is not out of service.")
    desk.watch.handle_subject(state.subject, lambda s, now: return_to_service(s, by, now))


def _subject(desk: Desk, ask: NewOutOfService) -> Subject:
    if ask.key not in CATALOGUE:
        known = ", ".join(key for key in CATALOGUE if key not in ASKED_ONCE)
        raise InvalidInputError(Problem("/key", "is no alarm", f"Give one of {known}."))
    if ask.key in ASKED_ONCE:
        raise InvalidInputError(
            Problem("/key", "is asked once for each stage", "Acknowledge it, or give the stage more time.")
        )
    wanted = _wanted(ask.key)
    problems = []
    for member in MEMBERS:
        given = getattr(ask, member)
        if member == wanted and given is None:
            problems.append(Problem(f"/{member}", "is missing", f"Say where {ask.key} makes no sense."))
        if member != wanted and given is not None:
            problems.append(Problem(f"/{member}", f"does not belong to {ask.key}", "Leave it out."))
    if problems:
        raise InvalidInputError(*problems)
    return _looked_up(desk, ask, wanted)


def _wanted(key: str) -> str | None:
    if key in OF_PROBES:
        return "probe_id"
    if key in OF_CHANNELS:
        return "channel_id"
    return None if key in OF_THE_WATCH else "vessel_id"


def _looked_up(desk: Desk, ask: NewOutOfService, wanted: str | None) -> Subject:
    look: dict[str, Callable[[Connection, str], object]] = {
        "vessel_id": vessel_by_id,
        "probe_id": probe_by_id,
        "channel_id": channel_by_id,
    }
    if wanted is None:
        return Subject(ask.key)
    given = str(getattr(ask, wanted))
    try:
        with desk.record.reading() as connection:
            look[wanted](connection, given)
    except NotFoundError as unknown:
        raise InvalidInputError(Problem(f"/{wanted}", "names nothing that is here", str(unknown))) from None
    if wanted == "channel_id":
        return Subject(ask.key, other=given)
    if wanted == "vessel_id":
        return Subject(ask.key, vessel_id=given)
    place = desk.watch.house.assigned(desk.now(), given)
    if place is None:
        raise InvalidInputError(
            Problem("/probe_id", "is in no vessel, so it raises nothing", "Give the probe a vessel first.")
        )
    return Subject(ask.key, vessel_id=place.vessel_id, probe_id=given)


def _id(subject: Subject) -> str:
    parts = (subject.key, subject.vessel_id, subject.probe_id, subject.other)
    return ".".join(part for part in parts if part is not None)


def _out(connection: Connection, subject: Subject) -> OutOfServiceAnswer:
    taken = last_transition(connection, subject, Event.OUT_OF_SERVICE.value)
    return OutOfServiceAnswer(
        id=_id(subject),
        key=subject.key,
        vessel_id=subject.vessel_id,
        probe_id=subject.probe_id,
        channel_id=subject.other,
        since=None if taken is None else taken["at"],
        cause="" if taken is None else taken["cause"],
    )


def _working(vessel_id: str, working: Working) -> WorkingAnswer:
    return WorkingAnswer(vessel_id=vessel_id, since=working.since, until=working.until, reason=working.reason)
