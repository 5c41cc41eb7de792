"""Forgotten buttons: what the trace shows to have begun though nobody said so. Pure.

It asks, it never acts: only a stage that lies ahead in the plan is asked about, with the time at which it
seems to have begun. A wrong question is a nuisance, so each needs a run of minutes that nothing ordinary
makes; the limits are our own, tried on simulated kettles and fermentations.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from statistics import median

from service.plans.band import SEA_LEVEL_BOILING_C, target_at
from service.plans.kinds import StageKind
from service.plans.model import Plan, Stage
from service.plans.step import Course, current, stage_of

MINUTE = timedelta(minutes=1)
FRESH = timedelta(minutes=3)
"""How old the newest minute may be: what is asked must be going on now, or be just over."""

LOOK_BACK = {True: timedelta(hours=2), False: timedelta(hours=24)}
"""How far back the trace is looked at, at the stove and in the fermenter."""

BOILS_FOR = timedelta(minutes=5)
BOIL_WITHIN_C = 0.8
LOWEST_BOIL_C = 90.0
"""Water boils at 90 C at about 3000 m."""
ROSE_C = 3.0

CHILL_C_PER_MIN = 1.5
"""A small pot taken off the boil loses up to about a degree a minute by itself; any chilling is faster."""
CHILL_FOR = timedelta(minutes=4)
CHILLED_C = 6.0

MASHED_C = 2.5
"""Malt takes 4 to 8 C from the water within minutes; a small pot by itself up to 2 C in three."""
MASH_WITHIN = timedelta(minutes=3)
MASH_SETTLED = timedelta(minutes=3)
MASH_BAND_C = 4.0

COLD_ROOM_C = 8.0
"""No room turns colder than the beer by more; what cools it faster is a fridge or a bath."""
CRASHED_C = 3.0
CRASH_FOR = timedelta(hours=2)


class What(StrEnum):
    """What seems to have begun."""

    MASH_IN = "mash-in"
    BOIL = "boil"
    CHILL = "chill"
    CRASH = "crash"


@dataclass(frozen=True, slots=True)
class Point:
    """A temperature of the batch, C, at an aware time."""

    at: datetime
    temp_c: float


@dataclass(frozen=True, slots=True)
class Question:
    """Did it begin then? to: the stage to enter. at: when it seems to have begun, to the minute."""

    what: What
    to: str
    at: datetime
    say: str


def look_back(plan: Plan, course: Course) -> timedelta | None:
    """How much of the trace `noticed` wants; None when there is nothing to ask."""
    step = current(course)
    if step is None or not list(_wanted(plan, stage_of(plan, step))):
        return None
    return LOOK_BACK[stage_of(plan, step).kind in _AT_THE_STOVE]


def noticed(
    plan: Plan,
    course: Course,
    trace: Sequence[Point],
    now: datetime,
    tau_h: float,
    boiling_c: float | None = None,
) -> Question | None:
    """The one thing that seems to have begun, or None.

    trace: means of minutes, oldest first; only those since the present stage was entered count. tau_h: the
    vessel's time constant, hours. boiling_c: this kettle's own plateau where it is known.
    """
    step = current(course)
    if step is None:
        return None
    seen = [point for point in trace if step.entered_at <= point.at <= now]
    if len(seen) < 3 or now - seen[-1].at > FRESH:
        return None
    here = stage_of(plan, step)
    for what, stage in _wanted(plan, here):
        at = _began(what, here, stage, step.entered_at, seen, tau_h, boiling_c)
        if at is not None and at > step.entered_at:
            return Question(what, stage.key, at, _SAYS[what])
    return None


_AT_THE_STOVE = frozenset(
    {StageKind.MASH, StageKind.BOIL, StageKind.STEEP, StageKind.CHILL, StageKind.STAND, StageKind.HOLD}
)
_BEFORE = {
    What.MASH_IN: frozenset({StageKind.HOLD, StageKind.STAND}),
    What.BOIL: frozenset({StageKind.MASH, StageKind.HOLD, StageKind.STAND}),
    What.CHILL: frozenset({StageKind.BOIL, StageKind.STEEP}),
    What.CRASH: frozenset({StageKind.PRIMARY, StageKind.REST}),
}
_IS = {
    What.MASH_IN: frozenset({StageKind.MASH}),
    What.BOIL: frozenset({StageKind.BOIL}),
    What.CHILL: frozenset({StageKind.CHILL, StageKind.STEEP}),
    What.CRASH: frozenset({StageKind.CRASH}),
}
_SAYS = {
    What.MASH_IN: "The water cooled at once, as when the malt goes in. Was it mashed in then?",
    What.BOIL: "It has stood at the boil since. Did the boil begin then?",
    What.CHILL: "It cools faster than a pot left to itself. Did chilling begin then?",
    What.CRASH: "The beer cools faster than a room could do it. Did the cold begin then?",
}
_NEAR = 2
"""So many stages ahead are asked about: one may be passed over, as a rest before the cold."""


def _wanted(plan: Plan, here: Stage) -> Iterator[tuple[What, Stage]]:
    first = plan.index(here.key) + 1
    for stage in plan.stages[first : first + _NEAR]:
        for what in What:
            if here.kind in _BEFORE[what] and stage.kind in _IS[what]:
                yield what, stage


def _began(
    what: What,
    here: Stage,
    stage: Stage,
    entered_at: datetime,
    seen: Sequence[Point],
    tau_h: float,
    boiling_c: float | None,
) -> datetime | None:
    match what:
        case What.MASH_IN:
            return _mashed_in(seen, target_at(stage, entered_at, entered_at))
        case What.BOIL:
            return _boils_since(seen, boiling_c)
        case What.CHILL:
            return _chilled_since(seen)
        case What.CRASH:
            return _cooled_since(seen, target_at(here, entered_at, seen[-1].at), tau_h)


def _mashed_in(seen: Sequence[Point], target_c: float | None) -> datetime | None:
    """Strike water, a fall within minutes, and since then near the temperature of the rest."""
    if target_c is None:
        return None
    for i, before in enumerate(seen):
        after = [p for p in seen[i + 1 :] if p.at - before.at >= MASH_WITHIN]
        if not after or after[-1].at - after[0].at < MASH_SETTLED or before.temp_c <= target_c:
            continue
        steady = all(abs(p.temp_c - target_c) <= MASH_BAND_C for p in after)
        falls_next = _falls(before, seen[i + 1], MASHED_C / 3)
        if steady and falls_next and before.temp_c - after[0].temp_c >= MASHED_C:
            return before.at
    return None


def _boils_since(seen: Sequence[Point], boiling_c: float | None) -> datetime | None:
    """A plateau that was risen to, at the kettle's own boiling point where that is known."""
    last = [p for p in seen if seen[-1].at - p.at <= BOILS_FOR]
    if seen[-1].at - last[0].at < BOILS_FOR - MINUTE or len(last) < 4:
        return None
    level = median(p.temp_c for p in last)
    low = LOWEST_BOIL_C if boiling_c is None else boiling_c - BOIL_WITHIN_C
    if (
        level < low
        or level > SEA_LEVEL_BOILING_C + 6
        or any(abs(p.temp_c - level) > BOIL_WITHIN_C for p in last)
    ):
        return None
    run = len(seen)
    while run > 0 and seen[run - 1].temp_c >= level - BOIL_WITHIN_C:
        run -= 1
    if run == 0:
        return None
    rising = [p for p in seen[:run] if seen[run].at - p.at <= 4 * BOILS_FOR]
    return seen[run].at if rising and level - min(p.temp_c for p in rising) >= ROSE_C else None


def _chilled_since(seen: Sequence[Point]) -> datetime | None:
    """A fall that goes on, minute by minute, faster than a pot does it by itself."""
    run = _lasting_fall(seen, CHILL_C_PER_MIN, CHILL_FOR, CHILLED_C)
    return None if run is None else run[0].at


def _cooled_since(seen: Sequence[Point], target_c: float | None, tau_h: float) -> datetime | None:
    """A fall over hours, faster all along than the coldest room could make it, to well below the target."""
    run = _lasting_fall(_half_hours(seen), COLD_ROOM_C / tau_h / 60, CRASH_FOR, CRASHED_C)
    if run is None or (target_c is not None and seen[-1].temp_c > target_c - 1.0):
        return None
    # the half hour is only how closely it was looked at; the minute is when it last stood at its level
    around = [p for p in seen if run[0].at - 30 * MINUTE <= p.at <= run[1].at]
    level = max(p.temp_c for p in around if p.at <= run[0].at)
    return max(p.at for p in around if p.temp_c >= level - 0.2)


def _lasting_fall(
    seen: Sequence[Point], c_per_min: float, least_for: timedelta, least_c: float
) -> tuple[Point, Point] | None:
    """The first fall that was as fast all along, as long and as deep, and was never made up for since.

    Returns its beginning and the point after it.
    """
    begins = 0
    for i in range(1, len(seen)):
        if not _falls(seen[i - 1], seen[i], c_per_min):
            begins = i
            continue
        deep = seen[begins].temp_c - seen[i].temp_c >= least_c
        long = seen[i].at - seen[begins].at >= least_for
        if deep and long and all(p.temp_c <= seen[begins].temp_c - least_c + 1.0 for p in seen[i:]):
            return seen[begins], seen[begins + 1]
    return None


def _falls(a: Point, b: Point, c_per_min: float) -> bool:
    return a.temp_c - b.temp_c >= c_per_min * ((b.at - a.at) / MINUTE)


def _half_hours(seen: Sequence[Point]) -> list[Point]:
    """The trace thinned to half hours, counted back from its end: a fridge's own swings even out."""
    found: list[Point] = []
    for point in reversed(seen):
        if not found or found[-1].at - point.at >= 30 * MINUTE:
            found.append(point)
    return found[::-1]
