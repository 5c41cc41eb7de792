"""Rehearsing: a plan run against a vessel in a room before anything is brewed."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from service.actions.ahead import LOOK_BACK_H, hourly, prior_of
from service.actions.answers import StrayAnswer
from service.actions.desk import Desk
from service.actions.insight_answers import (
    AdviceAnswer,
    AheadPoint,
    RehearsalAnswer,
    UnreachableAnswer,
)
from service.actions.planned import Planned, planned
from service.actions.rehearsal_asks import DailyRoom, Rehearse, TracedRoom, clock_hours, hourly_trace
from service.errors import InvalidInputError, Problem
from service.plans.model import Plan
from service.plans.reading import plan_from_json
from service.record.batches import plan_by_id
from service.record.vessels import vessel_by_id
from service.thermal.brewdays import brew_days
from service.thermal.habit import learned
from service.thermal.inputs import VesselPrior
from service.thermal.rehearsal import Rehearsal, Room, Setting, rehearse
from service.watch.house import House

USUAL_OG = 1.048
USUAL_PITCH_C = 20.0
HARDLY_EVER_IN = 0.8
"""A stage outside its band for this share of its time, on one side, does not hold it here."""


@dataclass(frozen=True, slots=True)
class Stored:
    """What the record knows of what is asked: plan, the vessel's volume and lessons, its room by the hour."""

    plan: object = None
    volume_l: float | None = None
    prior: VesselPrior | None = None
    airs: tuple[float | None, ...] = ()


def rehearse_plan(desk: Desk, ask: Rehearse) -> RehearsalAnswer:
    """Run a plan, stored or given, in a vessel of the record or one of a size."""
    now = desk.now()
    with desk.record.reading() as connection:
        found = stored_for(connection, desk.watch.house, ask, now)
    course, given = prepared(ask, found, now, desk.zone)
    return answer(given, course, ask, now)


def stored_for(connection: Connection, house: House, ask: Rehearse, now: datetime) -> Stored:
    """Look up what a rehearsal asks of the record."""
    plan = None if ask.plan_id is None else plan_by_id(connection, ask.plan_id)["body"]
    if ask.vessel_id is None:
        return Stored(plan)
    vessel = vessel_by_id(connection, ask.vessel_id)
    volume_l = ask.volume_l or vessel.volume_l
    here = [(vessel.id, now - timedelta(hours=LOOK_BACK_H), now)]
    airs = (
        ()
        if ask.surroundings_c is not None
        else hourly(connection, house, here, "surroundings", now, LOOK_BACK_H)
    )
    return Stored(plan, vessel.volume_l, prior_of(connection, vessel.id, volume_l, None), tuple(airs))


def prepared(ask: Rehearse, found: Stored, now: datetime, zone: ZoneInfo) -> tuple[Planned, Setting]:
    """A rehearsal ready to be run. InvalidInputError names what is missing."""
    starts_at = ask.starts_at or now.replace(second=0, microsecond=0)
    course = planned(plan_asked(ask, found.plan))
    room = room_asked(ask, starts_at)
    if room is None:
        room = _habitual(found.airs, now, starts_at, course.whole_h, zone)
    volume_l = ask.volume_l or found.volume_l
    return course, setting(ask, course, volume_l, found.prior, room, starts_at, zone)


def plan_asked(ask: Rehearse, stored: object) -> Plan:
    """The plan of a request: given whole, or the stored one."""
    if (ask.plan is None) == (ask.plan_id is None):
        raise InvalidInputError(
            Problem(
                "/plan",
                "give exactly one of plan and plan_id",
                "Send a whole plan, or the id of a stored one.",
            )
        )
    if ask.plan is None:
        return plan_from_json(stored)
    try:
        return plan_from_json(ask.plan)
    except InvalidInputError as wrong:
        raise InvalidInputError(*(replace(p, field="/plan" + p.field) for p in wrong.problems)) from None


def room_asked(ask: Rehearse, starts_at: datetime) -> Room | None:
    """The room of a request; None when it gives none."""
    given = ask.surroundings_c
    if given is None:
        return None
    if isinstance(given, DailyRoom):
        return Room(given.mean_c, given.swing_c, clock_hours(given.warmest_at))
    if isinstance(given, TracedRoom):
        trace = hourly_trace(given, starts_at)
        return Room(sum(trace) / len(trace), trace_c=_a_day_at_least(trace))
    return Room(float(given))


def _a_day_at_least(trace: tuple[float, ...]) -> tuple[float, ...]:
    """Beyond a trace its last day repeats; one shorter than that goes on with its last value."""
    return trace + (trace[-1],) * max(0, 26 - len(trace))


def _habitual(
    airs: Sequence[float | None], now: datetime, starts_at: datetime, hours: float, zone: ZoneInfo
) -> Room:
    """The room as the probe beside the vessel knows it: its level and its daily pattern."""
    local = now.astimezone(zone)
    habit = learned(airs, (local.hour - 1) % 24)
    if habit is None:
        raise InvalidInputError(
            Problem(
                "/surroundings_c",
                "is not known: no probe beside this vessel has told of its room yet",
                "Give the room's temperature, such as 18 or {'mean_c': 18, 'swing_c': 2}.",
            )
        )
    clock = starts_at.astimezone(zone)
    first = clock.hour + clock.minute / 60
    ahead = max(0.0, (starts_at - now).total_seconds() / 3600)
    trace = tuple(habit.at(ahead + h, first + h) for h in range(max(25, int(hours)) + 2))
    return Room(habit.level_c, trace_c=trace)


def setting(
    ask: Rehearse,
    course: Planned,
    volume_l: float | None,
    prior: VesselPrior | None,
    room: Room,
    starts_at: datetime,
    zone: ZoneInfo,
) -> Setting:
    """Everything a rehearsal needs; what was not said is taken as usual."""
    if volume_l is None:
        raise InvalidInputError(
            Problem("/volume_l", "is not known", "Give the litres, or a vessel that has a volume.")
        )
    og = ask.og or USUAL_OG
    if ask.expected_fg is not None and ask.expected_fg >= og:
        raise InvalidInputError(Problem("/expected_fg", "is not below og", "Check both gravities."))
    first = next((s.target_c[0] for s in course.stages if s.target_c is not None), USUAL_PITCH_C)
    local = starts_at.astimezone(zone)
    return Setting(
        stages=course.stages,
        volume_l=volume_l,
        og=max(og, 1.001),
        pitch_c=first if ask.pitch_c is None else ask.pitch_c,
        room=room,
        starts_at=starts_at,
        start_clock_h=local.hour + local.minute / 60,
        vessel=prior,
        fg=ask.expected_fg,
    )


def answer(given: Setting, course: Planned, ask: Rehearse, now: datetime) -> RehearsalAnswer:
    """A rehearsal in the shape of the HTTP contract."""
    found = rehearse(given)
    return RehearsalAnswer(
        points=[
            AheadPoint(
                at=p.at,
                temp_c=round(p.temp_c, 2),
                low90_c=round(p.low90_c, 2),
                high90_c=round(p.high90_c, 2),
                target_c=_rounded(p.target_c),
                low_c=_rounded(p.low_c),
                high_c=_rounded(p.high_c),
                stage=p.stage,
            )
            for p in found.points
        ],
        strays=[
            StrayAnswer(from_=s.since, to=s.to, side=s.side, worst_c=round(s.worst_c, 2), stage=s.stage)
            for s in found.strays
        ],
        unreachable=_unreachable(found),
        advice=[*_advised(found), *_brew_days(course, ask, now)],
    )


def _unreachable(found: Rehearsal) -> list[UnreachableAnswer]:
    """Stages that never reach their band, and those that only begin in it and cannot hold it."""
    answers = [UnreachableAnswer(stage=key, why=why) for key, why in found.unreachable]
    for key in dict.fromkeys(p.stage for p in found.points):
        inside = [p for p in found.points if p.stage == key]
        warm = [p for p in inside if p.high_c is not None and p.temp_c > p.high_c]
        cold = [p for p in inside if p.low_c is not None and p.temp_c < p.low_c]
        if any(a.stage == key for a in answers):
            continue
        for there, place in ((warm, "colder"), (cold, "warmer")):
            if len(there) > HARDLY_EVER_IN * len(inside):
                last = there[-1].temp_c
                why = f"It begins in its band and goes to {last:.1f} C: it needs a {place} place."
                answers.append(UnreachableAnswer(stage=key, why=why))
    return answers


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 2)


def _advised(found: Rehearsal) -> list[AdviceAnswer]:
    if not found.points:
        words = "The plan has no stage outside the kettle, so there is nothing to rehearse."
        return [AdviceAnswer(kind="nothing-to-rehearse", value=None, sentence=words)]
    return [AdviceAnswer(kind=a.kind, value=a.value, sentence=a.sentence) for a in found.advice]


def _ready(day: datetime, course: Planned) -> datetime:
    return day + timedelta(hours=course.whole_h)


def _brew_days(course: Planned, ask: Rehearse, now: datetime) -> list[AdviceAnswer]:
    """Starts from which the beer is ready when wanted and no hand is missing while nobody is there."""
    if ask.wanted_at is None:
        return []
    away = [(a.from_, a.to) for a in ask.away]
    days = brew_days(ask.wanted_at, course.hands_h, course.whole_h, away, now)
    if not days:
        words = (
            f"The plan lasts {course.whole_h / 24:.0f} days: no day from now on is early enough"
            " without a hand wanted while you are away."
        )
        return [AdviceAnswer(kind="brew-day", value=None, sentence=words)]
    return [
        AdviceAnswer(
            kind="brew-day",
            value=None,
            sentence=f"Pitch by {day:%Y-%m-%d %H:%M} UTC to have it ready on {_ready(day, course):%Y-%m-%d}.",
        )
        for day in days
    ]
