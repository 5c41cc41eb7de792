"""What is known of a batch at a moment, as the thermal computations take it.

Known at a time are the samples, readings and events whose own time is not later, whenever they arrived;
of the vessel only what batches taught that ended before this one started.
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from sqlalchemy import Connection

from service.actions.evidence import beer_hours, corrected_or_none, reading_context, written
from service.actions.role_curve import role_curve
from service.brewing.additions import addition
from service.errors import InvalidInputError
from service.plans.course import Course, elapse, stage_of
from service.plans.kinds import StageKind
from service.plans.model import Plan
from service.record.batches import batches
from service.record.entries import Entry
from service.record.estimates import kept_estimates
from service.record.facts import Batch, Vessel
from service.record.types import EPOCH
from service.record.vessels import heater_changes
from service.thermal.inputs import (
    Addition,
    EstimateInput,
    GravityReading,
    Mounting,
    Near,
    ReadBy,
    Sighting,
    Span,
    Switch,
    Trace,
    VesselPrior,
    YeastRange,
)
from service.thermal.vessel import Lesson, learned
from service.watch.fold import minute_of
from service.watch.house import House, live_batch

BEFORE_PITCHING = timedelta(days=2)
LONGEST = timedelta(days=22)
"""A fit looks at three weeks from pitching; later temperatures tell nothing of the fermentation."""

NINETY = 1.645
LEAST_ERROR_PT = 0.5
WORT_READING = timedelta(hours=3)
"""A hydrometer reading up to so long after pitching still tells the original gravity."""


def temperatures(
    connection: Connection,
    house: House,
    where: Sequence[tuple[str, datetime, datetime]],
    role: str,
    width_min: int = 1,
) -> dict[int, float]:
    """Calibrated means of a role's probes by first minute since 1970, in buckets of `width_min`.

    where: the vessels looked at, each from a time to a time.
    """
    curve = role_curve(connection, house, where, role, width_min)
    return {part.start_minute: part.mean_mc / 1000 for part in curve}


def stays(
    row: Batch, since: datetime, until: datetime, ahead_of_first: timedelta = timedelta(0)
) -> list[tuple[str, datetime, datetime]]:
    """Where a batch was between two times; its first vessel also for a while before the batch."""
    found = []
    for place in row.places:
        begins = place.from_at - (ahead_of_first if place is row.places[0] else timedelta(0))
        a, b = max(since, begins), until if place.to_at is None else min(until, place.to_at)
        if a < b:
            found.append((place.vessel_id, a, b))
    return found


def vessel_at(row: Batch, at: datetime) -> str | None:
    """The vessel a batch was in at a time; at and after its end the last one."""
    here = [p.vessel_id for p in row.places if p.from_at <= at]
    return here[-1] if here else None


def course_as_of(course: Course, at: datetime) -> Course:
    """A course as it was at a time: what came later is not known yet."""
    steps = tuple(
        replace(s, left_at=None) if s.left_at is not None and s.left_at > at else s
        for s in course.steps
        if s.entered_at <= at
    )
    if not steps:
        return course
    ended = course.ended_at if course.ended_at is not None and course.ended_at <= at else None
    return replace(course, steps=steps, ended_at=ended)


def packaged_at(plan: Plan, course: Course) -> datetime | None:
    """When the beer left the fermenter: its first conditioning stage, or the batch's end."""
    into = [s.entered_at for s in course.steps if stage_of(plan, s).kind is StageKind.CONDITION]
    return min(into) if into else course.ended_at


def told_moment(row: Batch, at: datetime) -> datetime:
    """The moment an estimate for `at` is made for: not later than the beer left the fermenter."""
    live = live_batch(row)
    left = packaged_at(live.plan, elapse(live.plan, live.course, at))
    return at if left is None else min(at, left)


def lessons(
    connection: Connection, vessel_id: str, ended_by: datetime | None, with_running: bool = False
) -> list[Lesson]:
    """What batches taught of a vessel; ended_by: only those that had ended then, None: all ended ones."""
    found = []
    for row in batches(connection, None):
        if vessel_id not in {p.vessel_id for p in row.places}:
            continue
        course = live_batch(row).course
        if course.ended_at is None and not with_running:
            continue
        if ended_by is not None and (course.ended_at is None or course.ended_at > ended_by):
            continue
        kept = kept_estimates(connection, row.id)
        facts = kept[0].body.get("thermal") if kept else None
        when = None if facts is None else vessel_at(row, kept[0].at)
        if facts is not None and when == vessel_id and row.volume_l is not None:
            found.append(Lesson(facts["tau_h"], facts["tau_spread_ln"], row.volume_l))
    return found


def vessel_prior(connection: Connection, row: Batch) -> VesselPrior | None:
    """What earlier batches taught of the vessel this batch ferments in."""
    live = live_batch(row)
    fermenter = vessel_at(row, live.course.pitched_at or row.started_at)
    if fermenter is None or row.volume_l is None:
        return None
    return learned(lessons(connection, fermenter, row.started_at), row.volume_l)


def learned_of(connection: Connection, vessel: Vessel) -> tuple[VesselPrior | None, int]:
    """What a vessel's batches taught so far, the running one included, at its own volume; and how many."""
    found = lessons(connection, vessel.id, None, with_running=True)
    volume_l = vessel.volume_l or (found[0].volume_l if found else None)
    prior = None if volume_l is None else learned(found, volume_l)
    return prior, 0 if prior is None else prior.batches


def known(connection: Connection, house: House, row: Batch, at: datetime) -> EstimateInput:
    """Everything an estimate at `at` is made from."""
    live = live_batch(row)
    course = elapse(live.plan, live.course, at)
    pitched = course.pitched_at if course.pitched_at is not None and course.pitched_at <= at else None
    if pitched is None:
        return EstimateInput(at=at)
    since, until = pitched - BEFORE_PITCHING, min(at, pitched + LONGEST)
    told = written(connection, row.id, at)
    og = row.og if row.og is not None else _wort_reading(row, told["readings"], pitched)
    vessel_id = vessel_at(row, at)
    vessel = None if vessel_id is None else house.vessels.get(vessel_id)
    probe = None if vessel_id is None else house.probe_of(vessel_id, "liquid", at)
    yeast = row.yeast or {}
    low, high = yeast.get("attenuation_low"), yeast.get("attenuation_high")
    switched = [] if vessel_id is None else heater_changes(connection, vessel_id)
    return EstimateInput(
        at=at,
        pitched_at=pitched,
        og=og,
        volume_l=row.volume_l,
        beer=_trace(temperatures(connection, house, stays(row, since, until), "liquid"), since),
        air=_trace(
            temperatures(connection, house, stays(row, since, until, BEFORE_PITCHING), "surroundings"), since
        ),
        mounting=None if probe is None or probe.mounting is None else Mounting(probe.mounting),
        wall=None if vessel is None else vessel.wall,
        near=() if vessel is None else tuple(Near(n) for n in vessel.near),
        readings=_direct(connection, house, row, told, og, pitched, at),
        sightings=tuple(
            Sighting(e.at, str(e.body["what"])) for e in reversed(told["sightings"]) if e.at >= pitched
        ),
        additions=_added(row, told["additions"], og, pitched),
        moves=tuple(p.from_at for p in row.places[1:] if pitched < p.from_at <= at),
        cooled=tuple(
            Span(s.entered_at, None if s.left_at is None or s.left_at > at else s.left_at)
            for s in course.steps
            if stage_of(live.plan, s).kind is StageKind.CRASH and pitched < s.entered_at <= at
        ),
        heater=tuple(Switch(when, on) for when, on in switched if when <= at),
        yeast=None if low is None or high is None else YeastRange(low, high),
        vessel=vessel_prior(connection, row),
    )


def _trace(means: dict[int, float], since: datetime) -> Trace | None:
    if not means:
        return None
    start = EPOCH + timedelta(minutes=minute_of(since))
    first = minute_of(since)
    minutes = sorted(means)
    # the middle of a minute stands for it
    return Trace(start, tuple(m - first + 0.5 for m in minutes), tuple(round(means[m], 4) for m in minutes))


def _wort_reading(row: Batch, readings: Sequence[Entry], pitched: datetime) -> float | None:
    early = [e for e in readings if e.body.get("by") == "hydrometer" and e.at <= pitched + WORT_READING]
    if not early:
        return None
    found = corrected_or_none(early[0], reading_context(row, readings, (), early[0].at, ()))
    return None if found is None else found.corrected_sg


def _direct(
    connection: Connection,
    house: House,
    row: Batch,
    told: dict[str, list[Entry]],
    og: float | None,
    pitched: datetime,
    at: datetime,
) -> tuple[GravityReading, ...]:
    by_weight = any(e.body.get("by") == "weight" for e in told["readings"])
    hours = beer_hours(connection, house, row, pitched, at) if by_weight else []
    found = []
    for entry in sorted(told["readings"], key=lambda e: (e.at, e.n)):
        if entry.at < pitched:
            continue
        context = reading_context(row, told["readings"], told["additions"], entry.at, hours)
        if context.first_kg is not None and entry.body.get("kg") == context.first_kg:
            continue  # the first weighing is what the others are measured against
        one = corrected_or_none(entry, context)
        if one is not None and (og is None or one.corrected_sg <= og + 0.02):
            error_pt = (one.high - one.low) * 1000 / (2 * NINETY)
            found.append(
                GravityReading(
                    entry.at, one.corrected_sg, ReadBy(entry.body["by"]), max(LEAST_ERROR_PT, error_pt)
                )
            )
    return tuple(found)


def _added(
    row: Batch, additions: Sequence[Entry], og: float | None, pitched: datetime
) -> tuple[Addition, ...]:
    """Additions in points of original gravity that will ferment; what was there at pitching is in the og."""
    found = []
    for e in sorted(additions, key=lambda e: e.at):
        if e.at < pitched or og is None or row.volume_l is None:
            continue
        try:
            sugar = addition(
                volume_l=row.volume_l,
                sg=og,
                mass_g=e.body["mass_g"],
                extract_share=e.body["extract_share"] * e.body["fermentable_share"],
                fermentable_share=1.0,
            )
        except InvalidInputError:
            continue
        points = 1000 * (sugar.og_equivalent - og)
        if points > 0 and math.isfinite(points):
            found.append(Addition(e.at, round(points, 3)))
    return tuple(found)
