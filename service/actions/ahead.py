"""The beer of the coming hours: the forecast of a batch, when it leaves its band, and what would help."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from service.actions.desk import Desk
from service.actions.insight_answers import AdviceAnswer, ForecastAnswer
from service.actions.kettle import answer_point, kettle_forecast, kettle_step
from service.actions.known import course_as_of, lessons, stays, temperatures, vessel_at
from service.errors import InvalidInputError, Problem
from service.plans.course import BandSpan, Course, bands_between, current, elapse, stage_of
from service.plans.kinds import KINDS, StageKind
from service.record.batches import batch_by_id
from service.record.estimates import kept_estimates
from service.record.facts import Batch
from service.thermal import beer
from service.thermal.forecast import (
    Band,
    Coefficients,
    Point,
    coefficients,
    forecast,
    leaves_band_at,
)
from service.thermal.inputs import VesselPrior
from service.thermal.jobs import estimate_from
from service.thermal.rehearsal import USUAL_MIDDLE_Z, USUAL_SPEED
from service.thermal.remedies import blow_off, remedies
from service.thermal.results import ThermalFacts
from service.thermal.vessel import learned
from service.watch.fold import minute_of
from service.watch.house import House, LiveBatch, live_batch

MOST_HOURS = 168
LOOK_BACK_H = 14 * 24
FOLD_MIN = 5
FACTS_LAST = timedelta(hours=6)
SILENT_H = 2
USUAL_VOLUME_L = 5.0
USUAL_HEAT_SPREAD = 0.5
"""Before the heat is seen its timing is a guess: yeasts and pitching rates differ by this much."""


@dataclass(frozen=True, slots=True)
class Ahead:
    """A forecast with what it was made from. why: in words why there are no points, else empty."""

    points: tuple[Point, ...]
    spans: tuple[BandSpan, ...]
    leaves: tuple[datetime, str] | None
    outside: bool
    c: Coefficients | None
    why: str

    def span_at(self, at: datetime) -> BandSpan | None:
        """The band planned for a time."""
        return next((s for s in self.spans if s.from_at <= at < s.to_at), None)


def forecast_of(desk: Desk, batch_id: str, hours: int) -> ForecastAnswer:
    """The beer of the next hours with its 90 % interval, when it leaves its band, and small remedies."""
    if not 1 <= hours <= MOST_HOURS:
        raise InvalidInputError(
            Problem("/hours", f"must lie between 1 and {MOST_HOURS}", "Ask for 48, for instance.")
        )
    now = desk.now()
    with desk.record.reading() as connection:
        row = batch_by_id(connection, batch_id)
        step = kettle_step(row, now)
        if step is not None:
            return kettle_forecast(connection, desk.watch.house, row, step, now, hours)
        ahead = look_ahead(desk.watch.house, desk.zone, connection, row, now, hours)
    return ForecastAnswer(
        points=[answer_point(p, ahead.span_at(p.at)) for p in ahead.points],
        leaves_band_at=None if ahead.leaves is None else ahead.leaves[0],
        advice=advice(row, ahead),
    )


def look_ahead(
    house: House,
    zone: ZoneInfo,
    connection: Connection,
    row: Batch,
    at: datetime,
    hours: int,
    facts: ThermalFacts | None = None,
) -> Ahead:
    """The forecast at a time, from what was known then. facts: an estimate's; None: the kept one's."""
    live = live_batch(row)
    live = replace(live, course=course_as_of(live.course, at))
    course = elapse(live.plan, live.course, at)
    why = _why_not(live, course)
    vessel_id = vessel_at(row, at)
    if why or vessel_id is None:
        return Ahead((), (), None, False, None, why or "The batch has not begun.")
    until = at + timedelta(hours=hours)
    later = elapse(live.plan, live.course, until)
    spans = tuple(bands_between(live.plan, later, at, until + timedelta(minutes=1)))
    beers = hourly(connection, house, stays(row, at - timedelta(hours=LOOK_BACK_H), at), "liquid", at, 24)
    if all(b is None for b in beers[-SILENT_H:]):
        return Ahead(
            (), spans, None, False, None, "There is no fresh reading from the beer, so nothing is foreseen."
        )
    here = [(vessel_id, at - timedelta(hours=LOOK_BACK_H), at)]
    airs = hourly(connection, house, here, "surroundings", at, LOOK_BACK_H)
    volume_l = row.volume_l or USUAL_VOLUME_L
    facts = facts or facts_at(connection, row.id, at)
    c = _coefficients(connection, row, live, later, vessel_id, volume_l, beers, at, hours, facts)
    local = at.astimezone(zone)
    points = tuple(forecast(at, local.hour + local.minute / 60, beers, airs[-LOOK_BACK_H:], c, hours))
    bands = [Band(s.from_at, s.low_c, s.high_c) for s in spans]
    outside = _outside(points, spans)
    return Ahead(points, spans, leaves_band_at(points, bands), outside, c, "")


def hourly(
    connection: Connection,
    house: House,
    where: Sequence[tuple[str, datetime, datetime]],
    role: str,
    at: datetime,
    hours: int,
) -> list[float | None]:
    """Means of the last hours that end at `at`, oldest first, None where nothing was read."""
    ends = minute_of(at)
    since = at - timedelta(hours=hours)
    near = [(vessel, max(a, since), b) for vessel, a, b in where if b > since]
    sums: dict[int, list[float]] = {}
    for minute, temp_c in temperatures(connection, house, near, role, FOLD_MIN).items():
        back = (ends - minute - 1) // 60
        if 0 <= back < hours:
            sums.setdefault(back, []).append(temp_c)
    return [sum(sums[back]) / len(sums[back]) if back in sums else None for back in range(hours - 1, -1, -1)]


def facts_at(connection: Connection, batch_id: str, at: datetime) -> ThermalFacts | None:
    """The newest estimate's plain numbers, moved on to `at`; None when it is too old or has none."""
    kept = kept_estimates(connection, batch_id)
    if not kept or not timedelta(0) <= at - kept[0].at <= FACTS_LAST:
        return None
    facts = estimate_from(kept[0].body).thermal
    return facts if facts is None else moved_on(facts, at - kept[0].at)


def moved_on(facts: ThermalFacts, by: timedelta) -> ThermalFacts:
    """The same facts some hours later: the heat of the hours gone by is dropped."""
    whole = int(by.total_seconds() // 3600)
    return ThermalFacts(
        facts.tau_h,
        facts.tau_spread_ln,
        facts.excess_c,
        facts.excess_spread_c,
        facts.share_seen,
        _later(facts.heat_w, whole),
        facts.heat_spread,
        facts.peak_w,
        facts.progress,
        _later(facts.heat_sd_w, whole),
    )


def _later(hourly: tuple[float, ...], by: int) -> tuple[float, ...]:
    return hourly[min(by, len(hourly) - 1) :] if hourly else ()


def prior_of(
    connection: Connection, vessel_id: str, volume_l: float | None, ended_by: datetime | None
) -> VesselPrior | None:
    """What was learned of a vessel, for a volume."""
    return learned(lessons(connection, vessel_id, ended_by), volume_l or USUAL_VOLUME_L)


def usual_heat_kh(
    og: float, fg: float | None, temp_c: float, hours_since: float, hours: int
) -> tuple[float, ...]:
    """Self-heating by the hour of a usual ale: a logistic in temperature-warped time; K/h."""
    rise = beer.adiabatic_rise_k(og, fg or 1 + 0.24 * (og - 1))
    pace = beer.usual_pace(temp_c)
    first = _logistic(0.0)
    shares = [(_logistic(max(0.0, hours_since + h) * pace) - first) / (1 - first) for h in range(hours + 2)]
    return tuple((b - a) * rise for a, b in pairwise(shares))


def _logistic(z: float) -> float:
    return 1 / (1 + math.exp(-USUAL_SPEED * (z - USUAL_MIDDLE_Z)))


def _why_not(live: LiveBatch, course: Course) -> str:
    step = current(course)
    if step is None:
        return "The batch has ended."
    if KINDS[stage_of(live.plan, step).kind].kettle:
        return "A burner decides what comes in the kettle: there is a forecast once the wort has left it."
    return ""


def _coefficients(
    connection: Connection,
    row: Batch,
    live: LiveBatch,
    later: Course,
    vessel_id: str,
    volume_l: float,
    beers: Sequence[float | None],
    at: datetime,
    hours: int,
    facts: ThermalFacts | None,
) -> Coefficients:
    prior = prior_of(connection, vessel_id, row.volume_l, row.started_at)
    c = coefficients(volume_l, row.og, facts, prior)
    step = current(elapse(live.plan, live.course, at))
    bottled = step is not None and stage_of(live.plan, step).kind is StageKind.CONDITION
    if facts is not None or row.og is None or bottled or later.pitched_at is None:
        return c
    temp_c = next((b for b in reversed(beers) if b is not None), 20.0)
    since_h = (at - later.pitched_at).total_seconds() / 3600
    heat = usual_heat_kh(row.og, row.expected_fg, temp_c, since_h, hours)
    return Coefficients(
        c.tau_h, c.tau_spread_ln, c.excess_c, c.excess_spread_c, heat, USUAL_HEAT_SPREAD, c.share_seen
    )


def _outside(points: Sequence[Point], spans: Sequence[BandSpan]) -> bool:
    if not points or not spans:
        return False
    low, high, now = spans[0].low_c, spans[0].high_c, points[0].temp_c
    return (low is not None and now < low) or (high is not None and now > high)


SECOND_PROBE = AdviceAnswer(
    kind="second-probe",
    value=None,
    sentence="Without a probe beside the vessel the beer is taken to stay as it is, ever less surely:"
    " a second one would make this a forecast.",
)


def advice(row: Batch, ahead: Ahead) -> list[AdviceAnswer]:
    """What would help against the worst coming hour, and words where something is missing."""
    if ahead.c is None or not ahead.points:
        return [AdviceAnswer(kind="no-forecast", value=None, sentence=ahead.why)]
    found: list[AdviceAnswer] = []
    span = None if ahead.leaves is None else ahead.span_at(ahead.leaves[0])
    if span is not None:
        until = min(span.to_at, ahead.points[-1].at)
        inside = [p for p in ahead.points if p.at <= until]
        volume_l = row.volume_l or USUAL_VOLUME_L
        found += [
            AdviceAnswer(kind=one.kind, value=one.value, sentence=one.sentence)
            for one in remedies(inside, ahead.c, volume_l, row.og, span.low_c, span.high_c)
        ]
    foam = blow_off(ahead.c, ahead.points)
    if foam is not None:
        found.append(AdviceAnswer(kind=foam.kind, value=foam.value, sentence=foam.sentence))
    if flat(ahead):
        found.append(SECOND_PROBE)
    return found


def flat(ahead: Ahead) -> bool:
    """Whether nothing is known of the surroundings, so that the beer was only taken to stay."""
    return len({round(p.temp_c, 9) for p in ahead.points}) == 1
