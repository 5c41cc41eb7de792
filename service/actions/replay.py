"""A batch replayed: what forecasts and estimates would have said, scored against what happened."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from service.actions.ahead import hourly, look_ahead
from service.actions.evidence import beer_hours, corrected_or_none, reading_context, written
from service.actions.insight_answers import ScoreAnswer, ScoresAnswer
from service.actions.known import known, packaged_at, stays
from service.errors import InvalidInputError, Problem
from service.record.batches import batch_by_id
from service.record.database import Record
from service.record.facts import Batch
from service.thermal.jobs import estimate_from, to_json
from service.thermal.results import Estimate
from service.thermal.scores import Said, Score, score
from service.watch.fits import Worker
from service.watch.house import House, live_batch

AHEAD_H = 12
EVERY_H = 12
FROM_H = 12
AT_ONCE = 6
JUST_BEFORE = timedelta(minutes=1)


@dataclass(frozen=True, slots=True)
class Replayed:
    """What is replayed: the record, its house, the brewer's zone and the worker."""

    record: Record
    house: House
    zone: ZoneInfo
    worker: Worker


def replay(on: Replayed, batch_id: str, now: datetime) -> ScoresAnswer:
    """Replay a batch: a forecast of 12 hours twice a day, and an estimate just before each direct reading."""
    with on.record.reading() as connection:
        row = batch_by_id(connection, batch_id)
        live = live_batch(row)
        pitched = live.course.pitched_at
        if pitched is None or pitched > now:
            raise InvalidInputError(Problem("/batch", "was never pitched, so there is nothing to replay"))
        ends = min(now, packaged_at(live.plan, live.course) or now)
        moments = list(_every(pitched + timedelta(hours=FROM_H), ends - timedelta(hours=AHEAD_H)))
        readings = _readings(connection, on.house, row, pitched, ends)
    said = dict(_estimates(on, row, [*moments, *(at - JUST_BEFORE for at, _ in readings)]))
    with on.record.reading() as connection:
        forecasts = [
            one
            for at in moments
            for one in _forecast(on, connection, row, at, said.get(at))
            if one is not None
        ]
    return ScoresAnswer(
        at=now,
        forecast=_answer(score(forecasts), "C"),
        estimate=_answer(score(list(_gravities(row, readings, said))), "points"),
    )


def _every(first: datetime, last: datetime) -> Iterator[datetime]:
    at = first
    while at <= last:
        yield at
        at += timedelta(hours=EVERY_H)


def _readings(
    connection: Connection, house: House, row: Batch, pitched: datetime, ends: datetime
) -> list[tuple[datetime, float]]:
    """Direct readings of the beer in the fermenter, oldest first: time and corrected gravity."""
    told = written(connection, row.id, ends)
    hours = beer_hours(connection, house, row, pitched, ends)
    found = []
    for entry in sorted(told["readings"], key=lambda e: (e.at, e.n)):
        if entry.body.get("by") == "limit-jar" or entry.at < pitched + timedelta(hours=FROM_H):
            continue
        context = reading_context(row, told["readings"], told["additions"], entry.at, hours)
        one = corrected_or_none(entry, context)
        if one is not None:
            found.append((entry.at, one.corrected_sg))
    return found


def _estimates(on: Replayed, row: Batch, moments: Sequence[datetime]) -> Iterator[tuple[datetime, Estimate]]:
    """The estimates of several moments, a few at a time in one worker."""
    for first in range(0, len(moments), AT_ONCE):
        some = moments[first : first + AT_ONCE]
        with on.record.reading() as connection:
            inputs = [to_json(known(connection, on.house, row, at)) for at in some]
        answers = on.worker.ask({"kind": "estimates", "inputs": inputs})["answers"]
        yield from ((at, estimate_from(body)) for at, body in zip(some, answers, strict=True))


def _forecast(
    on: Replayed, connection: Connection, row: Batch, at: datetime, told: Estimate | None
) -> Iterator[Said | None]:
    facts = None if told is None else told.thermal
    ahead = look_ahead(on.house, on.zone, connection, row, at, AHEAD_H, facts)
    later = at + timedelta(hours=AHEAD_H)
    around = timedelta(minutes=30)
    here = hourly(connection, on.house, stays(row, at - around, at + around), "liquid", at + around, 1)
    then = hourly(
        connection, on.house, stays(row, later - around, later + around), "liquid", later + around, 1
    )
    if ahead.points and here[0] is not None and then[0] is not None:
        last = ahead.points[-1]
        yield Said(last.temp_c, last.low90_c, last.high90_c, then[0], here[0])


def _gravities(
    row: Batch, readings: Sequence[tuple[datetime, float]], said: dict[datetime, Estimate]
) -> Iterator[Said]:
    """Estimates made just before a reading, in points, beside what the reading before it said."""
    before = row.og
    for at, sg in readings:
        told = said.get(at - JUST_BEFORE)
        if told is not None and told.gravity is not None:
            value, low, high = (_points(v) for v in (told.gravity.value, told.gravity.low, told.gravity.high))
            yield Said(value, low, high, _points(sg), None if before is None else _points(before))
        before = sg


def _points(sg: float) -> float:
    return 1000 * (sg - 1)


def _answer(found: Score | None, unit: str) -> ScoreAnswer | None:
    if found is None:
        return None
    return ScoreAnswer(
        n=found.n,
        rms=round(found.rms, 3),
        bias=round(found.bias, 3),
        holds=round(found.holds, 4),
        same_rms=None if found.same_rms is None else round(found.same_rms, 3),
        sentence=found.sentence(unit),
    )
