"""A batch looked back upon: how long in its band, what it worked at, what its bottles lived through."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from sqlalchemy import Connection

from service.actions.ahead import hourly
from service.actions.desk import Desk
from service.actions.insight import computed
from service.actions.insight_answers import (
    AnsweredAlarm,
    DegreeHours,
    PackagesAnswer,
    ScoresAnswer,
    SummaryAnswer,
)
from service.actions.known import stays, temperatures
from service.actions.series import MOST_POINTS, series
from service.plans.course import BandSpan, bands_between
from service.record.alarms import alarms
from service.record.batches import batch_by_id
from service.record.entries import entries
from service.record.estimates import kept_estimates
from service.record.facts import Batch
from service.record.marks import read_mark
from service.record.types import EPOCH
from service.thermal.warmth import warm_days, worked_at_c
from service.watch.house import LiveBatch, live_batch

STEP_MIN = 5
SECOND = timedelta(seconds=1)


def summary(desk: Desk, batch_id: str) -> SummaryAnswer:
    """Everything that can be said of a batch as it went."""
    now = desk.now()
    with desk.record.reading() as connection:
        row = batch_by_id(connection, batch_id)
        live = live_batch(row)
        until = live.course.ended_at or now
        means = temperatures(
            connection, desk.watch.house, stays(row, row.started_at, until), "liquid", STEP_MIN
        )
        packages = _packages(desk, connection, row, now)
        answered = _alarms(connection, batch_id)
        scores = read_mark(connection, scores_name(batch_id))
    spans = bands_between(live.plan, live.course, row.started_at, until)
    watched, inside, warm, cold = _against(spans, sorted(means.items()))
    ends = max(until, row.started_at + SECOND)
    curve = series(desk, batch_id, row.started_at, ends, MOST_POINTS)
    return SummaryAnswer(
        from_=row.started_at,
        to=until,
        watched_s=watched,
        in_band_s=inside,
        in_band_share=round(inside / watched, 4) if watched else None,
        degree_hours=DegreeHours(warm=round(warm, 2), cold=round(cold, 2)),
        strays=curve.strays,
        worked_at_c=_worked_at(desk, live, until),
        packages=packages,
        gaps=curve.gaps,
        alarms=answered,
        scores=None if scores is None else ScoresAnswer.model_validate(scores),
    )


def scores_name(batch_id: str) -> str:
    """Under what name the scores of a batch's replay are kept."""
    return f"scores:{batch_id}"


def _against(
    spans: Sequence[BandSpan], means: Sequence[tuple[int, float]]
) -> tuple[float, float, float, float]:
    """Seconds watched in stages with a band, seconds inside it, and degree-hours above and below."""
    watched = inside = warm = cold = 0.0
    index = 0
    for minute, temp_c in means:
        middle = EPOCH + timedelta(minutes=minute + STEP_MIN / 2)
        while index < len(spans) - 1 and spans[index].to_at <= middle:
            index += 1
        if not spans or middle < spans[index].from_at:
            continue
        low, high = spans[index].low_c, spans[index].high_c
        if low is None and high is None:
            continue
        over = max(0.0, temp_c - high) if high is not None else 0.0
        under = max(0.0, low - temp_c) if low is not None else 0.0
        watched += STEP_MIN * 60
        inside += 0.0 if over or under else STEP_MIN * 60
        warm += over * STEP_MIN / 60
        cold += under * STEP_MIN / 60
    return watched, inside, warm, cold


def _worked_at(desk: Desk, live: LiveBatch, until: datetime) -> float | None:
    """The temperature weighted by how much fermented at it; None where no estimate tells the progress."""
    pitched = live.course.pitched_at
    if pitched is None:
        return None
    with desk.record.reading() as connection:
        kept = kept_estimates(connection, live.row.id)
    facts = kept[0].body.get("thermal") if kept else computed(desk, live.row, until).get("thermal")
    if not facts or not facts["progress"]:
        return None
    progress = list(facts["progress"])
    ends = pitched + timedelta(hours=len(progress))
    with desk.record.reading() as connection:
        temps = hourly(
            connection,
            desk.watch.house,
            stays(live.row, pitched, ends),
            "liquid",
            ends,
            len(progress),
        )
    found = worked_at_c(temps, progress)
    return None if found is None else round(found, 2)


def _packages(desk: Desk, connection: Connection, row: Batch, now: datetime) -> list[PackagesAnswer]:
    found = []
    for entry in entries(connection, row.id, "packagings"):
        hours = max(0, int((now - entry.at).total_seconds() // 3600))
        temps = hourly(connection, desk.watch.house, stays(row, entry.at, now), "liquid", now, hours)
        known = any(t is not None for t in temps)
        found.append(
            PackagesAnswer(n=entry.n, at=entry.at, days_at_20_c=round(warm_days(temps), 2) if known else None)
        )
    return found


def _alarms(connection: Connection, batch_id: str) -> list[AnsweredAlarm]:
    found = []
    for number, state in alarms(connection, None, None, 1000, None, batch_id):
        answered = None
        if state.acknowledged_at is not None and state.raised_at is not None:
            answered = (state.acknowledged_at - state.raised_at).total_seconds()
        found.append(
            AnsweredAlarm(
                id=f"a-{number}",
                key=state.subject.key,
                priority=state.priority.value,
                raised_at=state.raised_at,
                acknowledged_at=state.acknowledged_at,
                acknowledged_by=state.acknowledged_by,
                answered_after_s=answered,
                returned_at=state.returned_at,
            )
        )
    return found
