"""Plans and times for the tests of this folder; the plans are invented."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

from hypothesis import strategies as st

from service.plans.kinds import KINDS, StageKind
from service.plans.model import Plan, Stage
from service.plans.reading import plan_from_json
from service.plans.step import Course

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)

Json = dict[str, object]


def seconds(count: float) -> timedelta:
    return timedelta(seconds=count)


def minutes(count: float) -> timedelta:
    return timedelta(minutes=count)


def hours(count: float) -> timedelta:
    return timedelta(hours=count)


def days(count: float) -> timedelta:
    return timedelta(days=count)


def stage_json(kind: str = "hold", /, **members: object) -> Json:
    """The least a stage of this kind needs, with more members as given."""
    target: Json = {"target_c": middle_c(StageKind(kind))} if KINDS[StageKind(kind)].needs_target else {}
    return {"key": kind, "kind": kind, **target, **members}


def plan_json(*stages: Json) -> Json:
    return {"name": "Invented brown", "stages": list(stages)}


def plan(*stages: Json) -> Plan:
    return plan_from_json(plan_json(*stages))


def stage(kind: str = "hold", /, **members: object) -> Stage:
    return plan(stage_json(kind, **members)).stages[0]


def middle_c(kind: StageKind) -> float:
    """A plausible target for a kind."""
    return (KINDS[kind].coldest_c + KINDS[kind].warmest_c) / 2


BREW_DAY = plan(
    stage_json("mash", target_c=67, lasts_s=3600, ends="time"),
    stage_json("boil", lasts_s=3600, ends="time", prompts=[{"say": "Late hops", "before_end_s": 600}]),
    stage_json("chill", target_c=20, ends="reached", lasts_s=2400),
    stage_json("primary", target_c=19, lasts_s=864000, ends="steady-gravity"),
    stage_json("condition", target_c=20, lasts_s=1209600, ends="time"),
)
"""Mash, boil, chill, primary and condition."""


def is_sound(course: Course) -> bool:
    """No gap, no overlap, numbered in order, only the last step running, state and end as the steps say."""
    steps = course.steps
    joined = all(a.left_at == b.entered_at for a, b in pairwise(steps))
    ordered = all(step.left_at is None or step.entered_at <= step.left_at for step in steps)
    numbered = [step.n for step in steps] == list(range(1, len(steps) + 1))
    ended = course.ended_at == steps[-1].left_at and (course.state == "ended") == (
        course.ended_at is not None
    )
    return joined and ordered and numbered and ended


_SECONDS = st.floats(1, 1e6).map(lambda s: round(s, 3))


@st.composite
def stage_jsons(draw: st.DrawFn, kind: StageKind | None = None) -> Json:
    """Any stage that the reader takes."""
    kind = draw(st.sampled_from(StageKind)) if kind is None else kind
    defaults = KINDS[kind]
    coldest_c, warmest_c = max(defaults.coldest_c, 0.0), defaults.warmest_c
    temps = st.floats(coldest_c, warmest_c)
    members: Json = {"kind": kind.value}
    ends = ["time", "brewer"] + ([] if defaults.kettle else ["share", "steady-gravity"])
    end = draw(st.sampled_from(ends))
    members["ends"] = end
    lasts_s = draw(_SECONDS)
    members["lasts_s"] = lasts_s
    if end == "share":
        members["share"] = draw(st.floats(0.01, 1.0))
    target = draw(
        st.sampled_from(["ramp", "fixed", "fixed"] if defaults.needs_target else ["ramp", "fixed", None])
    )
    if target == "fixed":
        members["target_c"] = draw(temps)
    if target == "ramp":
        over_s = draw(st.floats(1, lasts_s))
        members["target_c"] = {"from": draw(temps), "to": draw(temps), "over_s": over_s}
    if target is not None and draw(st.booleans()):
        members["band"] = "relative"
        members["low_c"] = draw(st.floats(-10, -1))
        members["high_c"] = draw(st.floats(1, 10))
    members["prompts"] = draw(
        st.lists(
            st.fixed_dictionaries({"say": st.just("Look"), "at_s": st.floats(0, lasts_s)})
            | st.fixed_dictionaries({"say": st.just("Look"), "before_end_s": st.floats(0, lasts_s)}),
            max_size=2,
        )
    )
    return members


@st.composite
def plan_jsons(draw: st.DrawFn) -> Json:
    """Any plan that the reader takes."""
    stages = draw(st.lists(stage_jsons(), min_size=1, max_size=5))
    return {"name": "Any", "stages": [{"key": f"s{i}", **members} for i, members in enumerate(stages)]}


def plans() -> st.SearchStrategy[Plan]:
    """Any plan."""
    return plan_jsons().map(plan_from_json)
