"""When the wort is cold enough: times to the steep and to pitching, from the batch's own running curve."""

from datetime import datetime, timedelta

from service.actions.answers import Interval
from service.actions.desk import Desk
from service.actions.numbers import plain
from service.actions.wire import Answer, Instant
from service.brewing.chilling import ice, water_change
from service.brewing.cooling import Cooling, CoolingSample, CoolingTarget, cooling
from service.brewing.running_curve import toward_present_bath
from service.brewing.working import Interval as Between
from service.errors import InvalidInputError, Problem
from service.plans.course import course_from_json, current
from service.plans.kinds import KINDS, StageKind
from service.plans.model import Plan, Ramp
from service.plans.reading import plan_from_json
from service.record.batches import batch_by_id
from service.record.facts import Batch

USUAL_OG = 1.045
COLDER = (StageKind.CHILL, StageKind.STEEP, StageKind.PRIMARY)


class ChillTarget(Answer):
    """When a stage's temperature is reached, with the ends of the 90 % interval.

    ice_kg: ice at 0 C that would take the wort there from now, at least; null when the volume is unknown.
    """

    stage: str
    temp_c: float
    at: Instant | None
    low: Instant | None
    high: Instant | None
    reachable: bool
    ice_kg: float | None


class FreshWater(Answer):
    """Whether changing the bath's water gets the wort sooner to the last target."""

    pays: bool
    change_at: Instant | None
    there_at: Instant | None
    fills_needed: int | None


class ChillAnswer(Answer):
    """The running curve of a wort that cools. sentence: what it says, or why nothing can be said yet."""

    batch_id: str
    stage: str | None
    temp_c: float | None
    at: Instant | None
    curve_from: Instant | None
    bath_c: Interval
    bath_measured: bool
    tau_s: Interval
    targets: list[ChillTarget]
    fresh_water: FreshWater | None
    sentence: str
    working: dict[str, object] | None


def chill_times(desk: Desk, batch_id: str, bath_l: float | None, fresh_c: float | None) -> ChillAnswer:
    """The times to what the coming stages want, by the samples since the bath was last changed.

    bath_l and fresh_c: litres in the bath and temperature of fresh water, C; with both it is also told
    whether changing the water pays. Raises NotFoundError, InvalidInputError.
    """
    if (bath_l is None) != (fresh_c is None):
        missing = "/bath_l" if bath_l is None else "/fresh_c"
        raise InvalidInputError(
            Problem(missing, "is missing", "Give both bath_l and fresh_c, or neither of them.")
        )
    now = desk.now()
    with desk.record.reading() as connection:
        row = batch_by_id(connection, batch_id)
    plan, step = plan_from_json(row.plan), current(course_from_json(row.course))
    place = next((p for p in row.places if p.to_at is None), None)
    if step is None or place is None:
        return _nothing(batch_id, None, "The batch has ended.")
    stage = plan.stage(step.stage_key)
    if stage is None or not KINDS[stage.kind].kettle or stage.kind in (StageKind.MASH, StageKind.BOIL):
        return _nothing(batch_id, step.stage_key, "Nothing is being chilled in this stage.")
    house = desk.watch.house
    liquid = house.probe_of(place.vessel_id, "liquid", now)
    if liquid is None or desk.watch.is_silent(liquid.id):
        return _nothing(batch_id, step.stage_key, "There is no reading of the wort.")
    bath = house.probe_of(place.vessel_id, "bath", now)
    bath_seen = None if bath is None else desk.watch.sight(bath.id, now)
    bath_c = None if bath_seen is None else bath_seen.temp_c
    samples = [
        CoolingSample(at, temp_c)
        for at, temp_c in desk.watch.recent(liquid.id)
        if step.entered_at - timedelta(minutes=1) <= at <= now
    ]
    wanted = _wanted(plan, step.stage_key, samples[-1].temp_c if samples else None)
    try:
        samples = toward_present_bath(samples)
        found = cooling(samples=samples, targets_c=[temp_c for _, temp_c in wanted], bath_c=bath_c)
    except InvalidInputError as refused:
        return _nothing(batch_id, step.stage_key, _why_not(refused))
    newest = samples[-1]
    if newest.temp_c >= samples[0].temp_c:
        return _nothing(batch_id, step.stage_key, "The wort is not falling.")
    targets = [
        _target(key, one, row, newest.temp_c) for (key, _), one in zip(wanted, found.targets, strict=True)
    ]
    fresh = None
    if bath_l is not None and fresh_c is not None and wanted:
        fresh = _fresh_water(row, newest, wanted[-1][1], found, bath_l, fresh_c)
    return ChillAnswer(
        batch_id=batch_id,
        stage=step.stage_key,
        temp_c=newest.temp_c,
        at=newest.at,
        curve_from=samples[0].at,
        bath_c=_between(found.bath_c),
        bath_measured=bath_c is not None,
        tau_s=_between(found.tau),
        targets=targets,
        fresh_water=fresh,
        sentence=_sentence(found, targets, bath_c is not None),
        working=plain(found.working),
    )


def _wanted(plan: Plan, present: str, newest_c: float | None) -> list[tuple[str, float]]:
    """(stage, temperature) of the coming stages up to pitching that are colder than the wort is now."""
    found: list[tuple[str, float]] = []
    for stage in plan.stages[plan.index(present) :]:
        if stage.kind in COLDER and stage.target_c is not None and newest_c is not None:
            target_c = stage.target_c.from_c if isinstance(stage.target_c, Ramp) else stage.target_c
            colder_than_before = not found or target_c < found[-1][1]
            if target_c < newest_c and colder_than_before:
                found.append((stage.key, target_c))
        if not KINDS[stage.kind].kettle:
            break
    return found


def _target(key: str, one: CoolingTarget, row: Batch, from_c: float) -> ChillTarget:
    kg = None
    if row.volume_l is not None and one.temp_c < from_c:
        kg = round(ice(volume_l=row.volume_l, og=row.og or USUAL_OG, from_c=from_c, to_c=one.temp_c).kg, 2)
    return ChillTarget(
        stage=key,
        temp_c=one.temp_c,
        at=one.at,
        low=one.low,
        high=one.high,
        reachable=one.reachable,
        ice_kg=kg,
    )


def _fresh_water(
    row: Batch, newest: CoolingSample, target_c: float, found: Cooling, bath_l: float, fresh_c: float
) -> FreshWater:
    if row.volume_l is None:
        raise InvalidInputError(
            Problem("/bath_l", "the volume of the wort is not known", "Give the batch its volume first.")
        )
    change = water_change(
        volume_l=row.volume_l,
        og=row.og or USUAL_OG,
        wort_c=newest.temp_c,
        target_c=target_c,
        bath_l=bath_l,
        bath_c=found.bath_c.value,
        fresh_c=fresh_c,
        tau_s=found.tau_s,
    )
    there_s = change.changed_s if change.pays else change.keep_s
    return FreshWater(
        pays=change.pays,
        change_at=_later(newest.at, change.change_after_s),
        there_at=_later(newest.at, there_s),
        fills_needed=change.fills_needed,
    )


def _later(at: datetime, seconds: float | None) -> datetime | None:
    return None if seconds is None else (at + timedelta(seconds=seconds)).replace(microsecond=0)


def _between(one: Between) -> Interval:
    return Interval(value=round(one.value, 2), low=round(one.low, 2), high=round(one.high, 2))


def _why_not(refused: InvalidInputError) -> str:
    first = refused.problems[0]
    return f"{first.problem} {first.remedy}".strip()


def _sentence(found: Cooling, targets: list[ChillTarget], measured: bool) -> str:
    if not targets:
        return "The wort is as cold as the coming stages want it."
    never = [one for one in targets if not one.reachable]
    if never:
        bath = "The bath" if measured else "By its curve, the bath"
        return (
            f"{bath} is near {found.bath_c.value:.0f} C: {never[0].temp_c:g} C is not reached without "
            "fresh water or ice."
        )
    return "Times are modelled from the wort's own fall since the bath was last changed."


def _nothing(batch_id: str, stage: str | None, why: str) -> ChillAnswer:
    unknown = Interval(value=None, low=None, high=None)
    return ChillAnswer(
        batch_id=batch_id,
        stage=stage,
        temp_c=None,
        at=None,
        curve_from=None,
        bath_c=unknown,
        bath_measured=False,
        tau_s=unknown,
        targets=[],
        fresh_water=None,
        sentence=why,
        working=None,
    )
