"""How long a batch may be left: the earliest time at which absence could cost the beer, and why."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from sqlalchemy import Connection

from service.actions.ahead import Ahead, flat, look_ahead
from service.actions.desk import Desk
from service.actions.insight_answers import CallAnswer, UnattendedAnswer
from service.alarms.model import Priority
from service.plans.course import DueKind, current, dues, elapse, stage_of
from service.plans.customary import is_customary
from service.plans.kinds import KINDS
from service.record.alarms import alarms
from service.record.batches import batch_by_id
from service.record.estimates import kept_estimates
from service.thermal.results import Verdict
from service.thermal.unattended import Call, leave
from service.watch.house import LiveBatch, live_batch
from service.watch.insights import STALE

HORIZON_H = 72
WITHOUT_ROOM_H = 24
COULD_C = 1.0
"""The 90 % interval this far outside the band could cost the beer, though the expected course stays in."""

LATE_SHARE, LATE_C = 0.9, 3.0
"""Once nearly all has fermented, warmth or cold of less than this outside the band does little."""

ASKED_BY_DUES = {"stage-due", "stage-overdue", "sample-due", "heading-out"}
IN_DOUBT = {
    Verdict.NOT_STARTED: "The estimate sees no fermentation yet: look for foam and take a reading.",
    Verdict.STOPPED_EARLY: "The fermentation has stopped early.",
    Verdict.POSSIBLY_STOPPED: "The fermentation may have stopped: take a reading.",
}


def unattended(desk: Desk, batch_id: str) -> UnattendedAnswer:
    """Until when the batch may be left alone, from forecast, estimate, what falls due, and alarms."""
    now = desk.now()
    with desk.record.reading() as connection:
        live = live_batch(batch_by_id(connection, batch_id))
        course = elapse(live.plan, live.course, now)
        step = current(course)
        if step is None:
            return UnattendedAnswer(until=None, because="The batch has ended.", next=[])
        if KINDS[stage_of(live.plan, step).kind].kettle:
            words = "The wort is in the kettle: stay with it while it is hot."
            return UnattendedAnswer(until=now, because=words, next=[])
        ahead = look_ahead(desk.watch.house, desk.zone, connection, live.row, now, HORIZON_H)
        calls = [
            *_standing(connection, batch_id, now),
            *_asked(live, now),
            *_doubts(connection, batch_id, now),
            *_strays(connection, ahead, batch_id, now),
        ]
    horizon, blind = _sight(ahead, now)
    answer = leave(now, calls, horizon, blind)
    return UnattendedAnswer(
        until=answer.until,
        because=answer.because,
        next=[CallAnswer(at=c.at, because=c.because) for c in answer.next],
    )


def _sight(ahead: Ahead, now: datetime) -> tuple[datetime, str]:
    """How far one can look, and why not farther."""
    if not ahead.points:
        return now, ahead.why
    if flat(ahead):
        words = "Without a probe beside the vessel nothing is foreseen beyond a day."
        return now + timedelta(hours=WITHOUT_ROOM_H), words
    words = "Nothing is foreseen until then; beyond three days room and beer cannot be told."
    return now + timedelta(hours=HORIZON_H), words


def _standing(connection: Connection, batch_id: str, now: datetime) -> Iterator[Call]:
    for _, state in alarms(connection, True, None, 1000, None, batch_id):
        if (
            state.cause_stands
            and state.priority is not Priority.LOW
            and state.subject.key not in ASKED_BY_DUES
        ):
            name = state.names.get("vessel", "The vessel")
            yield Call(now, f"An alarm stands: {name}, {state.reason}.")


def _asked(live: LiveBatch, now: datetime) -> Iterator[Call]:
    """Prompts when they come, stages when waiting begins to cost."""
    until = now + timedelta(days=30)
    present = elapse(live.plan, live.course, now)
    later = elapse(live.plan, live.course, until)
    for due in (*dues(live.plan, present, now), *dues(live.plan, later, until, now)):
        if due.kind is not DueKind.STAGE_DUE and not is_customary(live.plan, due.stage, due.prompt):
            yield Call(due.at, f"{due.say.rstrip('.')}.")


def _doubts(connection: Connection, batch_id: str, now: datetime) -> Iterator[Call]:
    for kept in kept_estimates(connection, batch_id, now - STALE):
        words = IN_DOUBT.get(Verdict(kept.body["verdict"]))
        if words is not None:
            yield Call(now, words)


def _strays(connection: Connection, ahead: Ahead, batch_id: str, now: datetime) -> Iterator[Call]:
    """The first hour on each side at which the beer leaves its band, or could leave it far."""
    kept = kept_estimates(connection, batch_id, now - STALE)
    share = None if not kept else (kept[0].body.get("share") or {}).get("value")
    spare = LATE_C if share is not None and share >= LATE_SHARE else 0.0
    known = not flat(ahead)
    said: set[str] = set()
    for point in ahead.points:
        span = ahead.span_at(point.at)
        if span is None:
            continue
        for side, by, edge in (
            ("warm", _over(point.temp_c, span.high_c), _over(point.high90_c, span.high_c)),
            (
                "cold",
                _over(-point.temp_c, _negative(span.low_c)),
                _over(-point.low90_c, _negative(span.low_c)),
            ),
        ):
            if side in said or not known:
                continue
            if by > spare:
                said.add(side)
                yield Call(point.at, f"The beer is forecast to be too {side} for '{span.stage}'.")
            elif edge > spare + COULD_C:
                said.add(side)
                yield Call(point.at, f"The beer could by then be more than {COULD_C:g} C too {side}.")


def _over(value: float, limit: float | None) -> float:
    return 0.0 if limit is None else value - limit


def _negative(limit: float | None) -> float | None:
    return None if limit is None else -limit
