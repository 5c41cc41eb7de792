"""Batches side by side, aligned at pitching: their curves by the hour, and a table of what differed."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import Connection

from service.actions.desk import Desk
from service.actions.entries import every_entry
from service.actions.insight_answers import SummaryAnswer
from service.actions.known import packaged_at, stays, temperatures
from service.actions.summary import summary
from service.actions.wire import Answer, Instant
from service.brewing.alcohol import Alcohol, alcohol
from service.errors import InvalidInputError, Problem
from service.plans.course import elapse, stage_of
from service.plans.model import Ramp, Stage
from service.record.batches import batch_by_id
from service.record.types import EPOCH
from service.record.vessels import vessels_ever
from service.watch.house import LiveBatch, live_batch

MOST = 6
LONGEST_H = 400 * 24
ROLES = ("liquid", "surroundings")
HOUR = timedelta(hours=1)

Value = float | str | None


class ComparedBatch(Answer):
    """One of the batches. aligned_by: ``pitching``, or ``start`` for one that was never pitched."""

    id: str
    name: str
    state: str
    aligned_at: Instant
    aligned_by: str


class ComparedCurve(Answer):
    """Hourly means of a role's probes, parallel to `hours`; null where nothing was recorded."""

    batch_id: str
    role: str
    mean_c: list[float | None]


class Difference(Answer):
    """One line of the table: a value for each batch. spread: largest less smallest, of numbers all known."""

    what: str
    unit: str | None
    values: list[float | str | None]
    spread: float | None
    same: bool


class Comparison(Answer):
    """Batches side by side. hours: from the time of alignment, the hour that begins then is 0."""

    batches: list[ComparedBatch]
    hours: list[int]
    curves: list[ComparedCurve]
    differences: list[Difference]


@dataclass(frozen=True, slots=True)
class _Known:
    """What the table is made of."""

    live: LiveBatch
    aligned_at: datetime
    by_hour: Mapping[str, Mapping[int, float]]
    ends_h: float
    vessel: str | None
    looked: SummaryAnswer
    last_sg: float | None
    finally_: Alcohol | None
    packed_l: float | None


def compare(desk: Desk, ids: Sequence[str]) -> Comparison:
    """Two to six batches side by side, in the order asked for."""
    if not 2 <= len(ids) <= MOST or len(set(ids)) != len(ids):
        raise InvalidInputError(
            Problem("/ids", f"must name two to {MOST} different batches", "Write them as ids=one,other.")
        )
    with desk.record.reading() as connection:
        lives = [live_batch(batch_by_id(connection, batch_id)) for batch_id in ids]
    known = [_known(desk, live) for live in lives]
    found = {hour for one in known for role in ROLES for hour in one.by_hour[role]}
    hours = list(range(min(found), max(found) + 1)) if found else []
    return Comparison(
        batches=[
            ComparedBatch(
                id=one.live.row.id,
                name=one.live.row.name,
                state=one.live.row.state,
                aligned_at=one.aligned_at,
                aligned_by="start" if one.live.course.pitched_at is None else "pitching",
            )
            for one in known
        ],
        hours=hours,
        curves=[
            ComparedCurve(
                batch_id=one.live.row.id,
                role=role,
                mean_c=[None if (c := one.by_hour[role].get(h)) is None else round(c, 3) for h in hours],
            )
            for one in known
            for role in ROLES
        ],
        differences=[
            *(_line(desk, known, *row) for row in TABLE),
            *(_line(desk, known, *row) for row in _stage_lines(known)),
        ],
    )


def _known(desk: Desk, live: LiveBatch) -> _Known:
    now = desk.now()
    course = elapse(live.plan, live.course, now)
    live = LiveBatch(live.row, live.plan, course)
    at = course.pitched_at or live.row.started_at
    until = course.ended_at or now
    left = packaged_at(live.plan, course) or until
    with desk.record.reading() as connection:
        by_hour = {role: _by_hour(desk, connection, live, role, at, until) for role in ROLES}
        names = {vessel.id: vessel.name for vessel in vessels_ever(connection).values()}
    here = next((p.vessel_id for p in reversed(live.row.places) if p.from_at <= at), None)
    readings = every_entry(desk, live.row.id, "readings")
    last_sg = next(
        (r["corrected_sg"] for r in readings if r["by"] != "limit-jar" and r["corrected_sg"] is not None),
        None,
    )
    units = [u for p in every_entry(desk, live.row.id, "packagings") for u in p["units"]]
    return _Known(
        live=live,
        aligned_at=at,
        by_hour=by_hour,
        ends_h=max((left - at) / HOUR, 0.0),
        vessel=None if here is None else names.get(here),
        looked=summary(desk, live.row.id),
        last_sg=last_sg,
        finally_=_alcohol(live.row.og, last_sg),
        packed_l=sum(u["size_l"] * u["count"] for u in units) if units else None,
    )


def _by_hour(
    desk: Desk, connection: Connection, live: LiveBatch, role: str, at: datetime, until: datetime
) -> dict[int, float]:
    since = max(live.row.started_at, at - LONGEST_H * HOUR)
    where = stays(live.row, since, min(until, at + LONGEST_H * HOUR))
    means = temperatures(connection, desk.watch.house, where, role, 60)
    # clock hours: each belongs to the hour of the batch that its middle lies in
    return {
        int((EPOCH + timedelta(minutes=minute + 30) - at) // HOUR): temp_c for minute, temp_c in means.items()
    }


def _alcohol(og: float | None, sg: float | None) -> Alcohol | None:
    if og is None or sg is None:
        return None
    try:
        return alcohol(og=og, fg=sg)
    except InvalidInputError:
        return None


def _fermenting(one: _Known, first: float = 0.0, last: float = float("inf")) -> list[float]:
    ends = min(last, one.ends_h)
    return [c for hour, c in one.by_hour["liquid"].items() if first <= hour < ends]


def _mean(values: Sequence[float]) -> float | None:
    return sum(values) / len(values) if values else None


def _beside(one: _Known) -> float | None:
    return _mean([c for hour, c in one.by_hour["surroundings"].items() if 0 <= hour < one.ends_h])


Reader = Callable[[Desk, _Known], Value]

TABLE: tuple[tuple[str, str | None, int, Reader], ...] = (
    ("plan", None, 0, lambda _d, k: k.live.plan.name),
    ("vessel", None, 0, lambda _d, k: k.vessel),
    ("month of pitching", None, 0, lambda d, k: f"{k.aligned_at.astimezone(d.zone):%B}"),
    ("yeast", None, 0, lambda _d, k: None if k.live.row.yeast is None else str(k.live.row.yeast["name"])),
    ("volume", "l", 2, lambda _d, k: k.live.row.volume_l),
    ("original gravity", "SG", 4, lambda _d, k: k.live.row.og),
    ("expected final gravity", "SG", 4, lambda _d, k: k.live.row.expected_fg),
    ("last measured gravity", "SG", 4, lambda _d, k: k.last_sg),
    (
        "apparent attenuation",
        "%",
        1,
        lambda _d, k: None if k.finally_ is None else k.finally_.apparent_attenuation_percent,
    ),
    (
        "alcohol by volume",
        "%",
        2,
        lambda _d, k: None if k.finally_ is None else k.finally_.alcohol_by_volume_percent,
    ),
    ("beer at pitching", "C", 2, lambda _d, k: k.by_hour["liquid"].get(0)),
    ("mean of the first three days", "C", 2, lambda _d, k: _mean(_fermenting(k, last=72.0))),
    ("mean until packaging", "C", 2, lambda _d, k: _mean(_fermenting(k))),
    ("warmest hour until packaging", "C", 2, lambda _d, k: max(_fermenting(k), default=None)),
    ("coldest hour until packaging", "C", 2, lambda _d, k: min(_fermenting(k), default=None)),
    ("mean of the surroundings", "C", 2, lambda _d, k: _beside(k)),
    ("temperature weighted by fermentation", "C", 2, lambda _d, k: k.looked.worked_at_c),
    ("share of the time in the band", "%", 1, lambda _d, k: _percent(k.looked.in_band_share)),
    ("degree-hours too warm", "C h", 1, lambda _d, k: k.looked.degree_hours.warm),
    ("degree-hours too cold", "C h", 1, lambda _d, k: k.looked.degree_hours.cold),
    ("strays", None, 0, lambda _d, k: float(len(k.looked.strays))),
    ("alarms", None, 0, lambda _d, k: float(len(k.looked.alarms))),
    ("packaged", "l", 2, lambda _d, k: k.packed_l),
)


def _percent(share: float | None) -> float | None:
    return None if share is None else 100 * share


def _stage_lines(known: Sequence[_Known]) -> list[tuple[str, str | None, int, Reader]]:
    """For every stage that any batch passed: its days, and what was aimed at."""
    keys = dict.fromkeys(step.stage_key for one in known for step in one.live.course.steps)
    return [
        line
        for key in keys
        for line in (
            (f"days in {key}", "d", 2, lambda d, k, key=key: _days(d, k, key)),
            (f"target of {key}", None, 0, lambda _d, k, key=key: _target(k.live.plan.stage(key))),
        )
    ]


def _days(desk: Desk, one: _Known, key: str) -> float | None:
    steps = [s for s in one.live.course.steps if stage_of(one.live.plan, s).key == key]
    if not steps:
        return None
    return sum(((s.left_at or desk.now()) - s.entered_at) / timedelta(days=1) for s in steps)


def _target(stage: Stage | None) -> str | None:
    if stage is None or stage.target_c is None:
        return None
    if isinstance(stage.target_c, Ramp):
        days = stage.target_c.over_s / 86400
        return f"{stage.target_c.from_c:g} to {stage.target_c.to_c:g} C over {days:.3g} d"
    return f"{stage.target_c:g} C"


def _line(
    desk: Desk, known: Sequence[_Known], what: str, unit: str | None, digits: int, read: Reader
) -> Difference:
    values = [read(desk, one) for one in known]
    shown = [round(v, digits) if isinstance(v, float) else v for v in values]
    numbers = [v for v in shown if isinstance(v, float | int)]
    every = len(numbers) == len(shown)
    return Difference(
        what=what,
        unit=unit,
        values=shown,
        spread=round(max(numbers) - min(numbers), digits) if every else None,
        same=len(set(shown)) == 1,
    )
