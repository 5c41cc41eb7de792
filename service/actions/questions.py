"""Asking about a forgotten button: what the trace shows to have begun. Yes is an advance at that time."""

from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection

from service.actions.answers import BatchAnswer
from service.actions.asks import Advance
from service.actions.batches import advance_batch
from service.actions.desk import Desk
from service.actions.known import learned_of, stays, temperatures
from service.actions.wire import Answer, Instant, as_text
from service.errors import ConflictError, NotFoundError
from service.plans.course import current, elapse
from service.plans.noticing import Point, Question, What, look_back, noticed
from service.record.batches import batch_by_id
from service.record.facts import Batch
from service.record.marks import read_mark, set_mark
from service.record.types import EPOCH
from service.watch.house import LiveBatch, live_batch
from service.watch.judge import time_constant_h

MARK = "no-answer:"
"""Begins the name of the mark that keeps what was answered with no, batch by batch."""


class QuestionAnswer(Answer):
    """Something that seems to have begun though nobody said so; `to` is the stage that would be entered."""

    what: str
    to: str
    at: Instant
    say: str


def questions_of(desk: Desk, batch_id: str) -> list[QuestionAnswer]:
    """What the batch's trace asks now: nothing, or one thing."""
    found = _asked(desk, batch_id)
    if found is None:
        return []
    return [QuestionAnswer(what=found.what.value, to=found.to, at=found.at, say=found.say)]


def say_yes(desk: Desk, batch_id: str, what: What) -> tuple[BatchAnswer, int]:
    """It began then: the batch enters the stage at that past time. NotFoundError: it is not asked."""
    found = _the_one(desk, batch_id, what)
    return advance_batch(desk, batch_id, Advance(to=found.to, at=found.at))


def say_no(desk: Desk, batch_id: str, what: What) -> None:
    """It did not begin: the same is not asked again unless it begins anew. NotFoundError: it is not asked."""
    found = _the_one(desk, batch_id, what)
    now = desk.now()

    def work(connection: Connection) -> None:
        if batch_by_id(connection, batch_id).state == "ended":
            raise ConflictError("The batch has ended.")
        answered: dict[str, Any] = dict(read_mark(connection, MARK + batch_id) or {})
        answered[f"{found.what}#{found.to}"] = as_text(now)
        set_mark(connection, MARK + batch_id, answered)

    desk.record.write(work)


def _the_one(desk: Desk, batch_id: str, what: What) -> Question:
    found = _asked(desk, batch_id)
    if found is None or found.what is not what:
        raise NotFoundError("That is not asked of this batch, or not any more.")
    return found


def _asked(desk: Desk, batch_id: str) -> Question | None:
    now = desk.now()
    with desk.record.reading() as connection:
        row = batch_by_id(connection, batch_id)
        stored = live_batch(row)
        live = LiveBatch(row, stored.plan, elapse(stored.plan, stored.course, now))
        wanted, step = look_back(live.plan, live.course), current(live.course)
        if wanted is None or step is None:
            return None
        trace = _trace(desk, connection, row, max(step.entered_at, now - wanted), now)
        plateaus = read_mark(connection, "plateaus") or {}
        answered = read_mark(connection, MARK + batch_id) or {}
        tau_h, probe_id = _vessel(desk, connection, row, now)
    found = noticed(live.plan, live.course, trace, now, tau_h, plateaus.get(probe_id or ""))
    if found is None:
        return None
    refused = answered.get(f"{found.what}#{found.to}")
    return None if refused is not None and found.at <= datetime.fromisoformat(refused) else found


def _trace(desk: Desk, connection: Connection, row: Batch, since: datetime, now: datetime) -> list[Point]:
    means = temperatures(connection, desk.watch.house, stays(row, since, now), "liquid")
    return [Point(EPOCH + timedelta(minutes=minute), temp_c) for minute, temp_c in sorted(means.items())]


def _vessel(desk: Desk, connection: Connection, row: Batch, now: datetime) -> tuple[float, str | None]:
    """The time constant of the vessel the batch is in, learned or by its size, and its probe."""
    here = next((p.vessel_id for p in reversed(row.places) if p.to_at is None), None)
    vessel = None if here is None else desk.watch.house.vessels.get(here)
    if vessel is None:
        return time_constant_h(row.volume_l), None
    learned, _ = learned_of(connection, vessel)
    probe = desk.watch.house.probe_of(vessel.id, "liquid", now)
    tau_h = time_constant_h(vessel.volume_l or row.volume_l) if learned is None else learned.tau_h
    return tau_h, None if probe is None else probe.id
