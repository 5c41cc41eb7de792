"""What comes in the kettle: mash and chill, carried on along Newton's curve while nothing heats them."""

from datetime import datetime, timedelta

from sqlalchemy import Connection

from service.actions.insight_answers import AdviceAnswer, AheadPoint, ForecastAnswer
from service.actions.known import course_as_of, temperatures, vessel_at
from service.brewing.cooling import CoolingSample
from service.brewing.cooling_ahead import cooling_ahead
from service.errors import InvalidInputError
from service.plans.course import BandSpan, bands_between, current, elapse, stage_of
from service.plans.kinds import KINDS, StageKind
from service.plans.step import Step
from service.record.facts import Batch
from service.record.types import EPOCH
from service.thermal.forecast import Band, Point, leaves_band_at
from service.watch.house import House, live_batch

LOOK_BACK = timedelta(hours=3)
STALE_MIN = 10
EVERY = timedelta(minutes=5)
LONGEST = timedelta(hours=12)
"""Farther ahead a kettle is somewhere else, whatever its curve says."""


def kettle_step(row: Batch, at: datetime) -> Step | None:
    """The batch's present step when it is in the kettle, else None."""
    live = live_batch(row)
    step = current(elapse(live.plan, course_as_of(live.course, at), at))
    return step if step is not None and KINDS[stage_of(live.plan, step).kind].kettle else None


def kettle_forecast(
    connection: Connection, house: House, row: Batch, step: Step, at: datetime, hours: int
) -> ForecastAnswer:
    """The wort of the next hours if nothing heats it; no points, and why, where no curve can be told."""
    vessel_id = vessel_at(row, at)
    since = max(step.entered_at, at - LOOK_BACK)
    here = [] if vessel_id is None else [(vessel_id, since, at)]
    samples = _falling(temperatures(connection, house, here, "liquid"))
    if not samples or at - samples[-1].at > timedelta(minutes=STALE_MIN):
        return _without("There is no fresh reading from the wort, so nothing is foreseen.")
    bath_c, toward = _toward(connection, house, here, row, step)
    count = int(min(timedelta(hours=hours), LONGEST) / EVERY)
    times = [at + k * EVERY for k in range(count + 1)]
    ahead_s = [(time - samples[-1].at).total_seconds() for time in times]
    try:
        found = cooling_ahead(samples=samples, ahead_s=ahead_s, bath_c=bath_c)
    except InvalidInputError as refused:
        why = " ".join(problem.problem for problem in refused.problems)
        return _without(f"It does not cool by itself, or too little of it is seen yet. {why}")
    points = [Point(t, temp.value, temp.low, temp.high) for t, temp in zip(times, found.temps_c, strict=True)]
    spans = _spans(row, at, times[-1])
    leaves = leaves_band_at(points, [Band(s.from_at, s.low_c, s.high_c) for s in spans])
    words = (
        f"If nothing heats or stirs it otherwise, it goes on toward {toward} of about {found.bath_c:.0f} C "
        f"with a time constant of {found.tau_s / 60:.0f} minutes."
    )
    return ForecastAnswer(
        points=[answer_point(p, _span_at(spans, p.at)) for p in points],
        leaves_band_at=None if leaves is None else leaves[0],
        advice=[AdviceAnswer(kind="newton", value=round(found.tau_s / 60, 1), sentence=words)],
    )


def _falling(by_minute: dict[int, float]) -> list[CoolingSample]:
    """The samples since the wort was warmest: what was added or heated before is another curve."""
    minutes = sorted(by_minute)
    if not minutes:
        return []
    warmest = max(minutes, key=lambda m: (by_minute[m], m))
    return [CoolingSample(EPOCH + timedelta(minutes=m + 0.5), by_minute[m]) for m in minutes if m >= warmest]


def _toward(
    connection: Connection,
    house: House,
    here: list[tuple[str, datetime, datetime]],
    row: Batch,
    step: Step,
) -> tuple[float | None, str]:
    """What it cools toward, where a probe tells, and its name. In a chill the room does not count."""
    kind = stage_of(live_batch(row).plan, step).kind
    roles = ("bath",) if kind is StageKind.CHILL else ("bath", "surroundings")
    for role in roles:
        seen = temperatures(connection, house, here, role)
        if seen:
            return seen[max(seen)], "a bath" if role == "bath" else "surroundings"
    return None, "a bath" if kind is StageKind.CHILL else "surroundings"


def _spans(row: Batch, at: datetime, until: datetime) -> list[BandSpan]:
    live = live_batch(row)
    later = elapse(live.plan, course_as_of(live.course, at), until)
    return bands_between(live.plan, later, at, until + timedelta(minutes=1))


def _span_at(spans: list[BandSpan], at: datetime) -> BandSpan | None:
    return next((s for s in spans if s.from_at <= at < s.to_at), None)


def answer_point(point: Point, span: BandSpan | None) -> AheadPoint:
    """A forecast point with the band planned for it."""

    def rounded(value: float | None) -> float | None:
        return None if value is None else round(value, 2)

    return AheadPoint(
        at=point.at,
        temp_c=round(point.temp_c, 2),
        low90_c=round(point.low90_c, 2),
        high90_c=round(point.high90_c, 2),
        target_c=None if span is None else rounded(span.target_c),
        low_c=None if span is None else rounded(span.low_c),
        high_c=None if span is None else rounded(span.high_c),
        stage=None if span is None else span.stage,
    )


def _without(why: str) -> ForecastAnswer:
    return ForecastAnswer(
        points=[], leaves_band_at=None, advice=[AdviceAnswer(kind="no-forecast", value=None, sentence=why)]
    )
