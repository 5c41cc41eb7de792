"""A batch looked back upon: how long in its band, what it worked at, what its bottles lived through."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from sqlalchemy import Connection

from service.actions.ahead import hourly
from service.actions.band_time import counted_in, hours_in, hours_rows
from service.actions.desk import Desk
from service.actions.entries import every_entry
from service.actions.insight import computed
from service.actions.insight_answers import (
    AnsweredAlarm,
    DegreeHours,
    HourAnswer,
    PackagesAnswer,
    ScoresAnswer,
    StageLooked,
    SummaryAnswer,
)
from service.actions.known import packaged_at, stays
from service.actions.looking_back import Counted, Hour, extremes
from service.actions.measured import estimates_against, measured
from service.actions.series import MOST_POINTS, series
from service.actions.strayed import strays_looked
from service.actions.stretches import stretches
from service.actions.tasting import faults_of
from service.plans.course import BandSpan, bands_between, elapse, stage_of
from service.record.alarms import alarms
from service.record.batches import batch_by_id
from service.record.entries import entries
from service.record.estimates import kept_estimates
from service.record.facts import Batch
from service.record.marks import read_mark
from service.record.vessels import probes_ever
from service.thermal.warmth import warm_days, worked_at_c
from service.watch.fold import minute_of
from service.watch.house import LiveBatch, live_batch

SECOND = timedelta(seconds=1)
DAY = timedelta(days=1)


def summary(desk: Desk, batch_id: str) -> SummaryAnswer:
    """Everything that can be said of a batch as it went."""
    now = desk.now()
    readings = every_entry(desk, batch_id, "readings")
    with desk.record.reading() as connection:
        row = batch_by_id(connection, batch_id)
        stored = live_batch(row)
        live = LiveBatch(row, stored.plan, elapse(stored.plan, stored.course, now))
        until = live.course.ended_at or now
        spans = bands_between(live.plan, live.course, row.started_at, until)
        by_step, hours = _against(desk, connection, live, spans, until)
        packages = _packages(connection, row, hours, now)
        answered = _alarms(connection, batch_id)
        scores = read_mark(connection, scores_name(batch_id))
        estimated = estimates_against(connection, batch_id, live.course.pitched_at, readings)
    whole = Counted()
    for counted in by_step.values():
        whole.add(counted)
    left = packaged_at(live.plan, live.course) or until
    warmest, coldest = extremes(hours, live.course.pitched_at or row.started_at, left)
    curve = series(desk, batch_id, row.started_at, max(until, row.started_at + SECOND), MOST_POINTS)
    with desk.record.reading() as connection:
        strays = strays_looked(connection, row, curve.strays)
    return SummaryAnswer(
        from_=row.started_at,
        to=until,
        watched_s=whole.watched_s,
        in_band_s=whole.inside_s,
        in_band_share=whole.share,
        degree_hours=DegreeHours(warm=round(whole.warm, 2), cold=round(whole.cold, 2)),
        stages=_stages(live, by_step, hours, until),
        strays=strays,
        worked_at_c=_worked_at(desk, live, until),
        warmest_hour=_hour(warmest),
        coldest_hour=_hour(coldest),
        measured=measured(row.og, readings),
        estimates=estimated,
        packages=packages,
        gaps=curve.gaps,
        missing_s=sum((gap.to - gap.from_).total_seconds() for gap in curve.gaps),
        alarms=answered,
        scores=None if scores is None else ScoresAnswer.model_validate(scores),
        faults=faults_of(desk, batch_id),
    )


def scores_name(batch_id: str) -> str:
    """Under what name the scores of a batch's replay are kept."""
    return f"scores:{batch_id}"


def _against(
    desk: Desk, connection: Connection, live: LiveBatch, spans: Sequence[BandSpan], until: datetime
) -> tuple[dict[int, Counted], list[Hour]]:
    """What every probe in the beer comes to: a batch in two vessels at a time is counted in both."""
    house = desk.watch.house
    found = stretches(
        probes_ever(connection),
        house.assignments,
        live.row.places,
        minute_of(live.row.started_at),
        minute_of(until) + 1,
    )
    by_step: dict[int, Counted] = {}
    hours: list[Hour] = []
    for stretch in found:
        if stretch.role != "liquid":
            continue
        lines = house.lines.get(stretch.probe_id, ())
        rows = hours_rows(connection, stretch)
        hours += hours_in(rows, stretch, lines)
        for n, counted in counted_in(connection, stretch, lines, spans, live.course.steps, rows).items():
            by_step.setdefault(n, Counted()).add(counted)
    return by_step, hours


def _stages(
    live: LiveBatch, by_step: Mapping[int, Counted], hours: list[Hour], until: datetime
) -> list[StageLooked]:
    found = []
    for step in live.course.steps:
        counted = by_step.get(step.n, Counted())
        ends = step.left_at or until
        warmest, coldest = extremes(hours, step.entered_at, ends)
        found.append(
            StageLooked(
                n=step.n,
                key=step.stage_key,
                kind=stage_of(live.plan, step).kind.value,
                days=round(max(ends - step.entered_at, timedelta(0)) / DAY, 3),
                watched_s=counted.watched_s,
                in_band_s=counted.inside_s,
                in_band_share=counted.share,
                degree_hours=DegreeHours(warm=round(counted.warm, 2), cold=round(counted.cold, 2)),
                warmest_hour=_hour(warmest),
                coldest_hour=_hour(coldest),
            )
        )
    return found


def _hour(hour: Hour | None) -> HourAnswer | None:
    return None if hour is None else HourAnswer(at=hour.at, temp_c=round(hour.temp_c, 2))


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


def _packages(
    connection: Connection, row: Batch, hours: Sequence[Hour], now: datetime
) -> list[PackagesAnswer]:
    found = []
    for entry in entries(connection, row.id, "packagings"):
        by_hour: dict[datetime, list[float]] = {}
        for hour in hours:
            if entry.at <= hour.at < now:
                by_hour.setdefault(hour.at, []).append(hour.temp_c)
        days = warm_days([sum(temps) / len(temps) for temps in by_hour.values()])
        found.append(PackagesAnswer(n=entry.n, at=entry.at, days_at_20_c=round(days, 2) if by_hour else None))
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
