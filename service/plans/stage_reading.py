"""One stage of a plan, read from JSON and written to it."""

import re
from collections.abc import Mapping
from enum import StrEnum

from service.errors import Problem
from service.plans.bounds import (
    DEADBAND_C,
    KEY_BEGINS,
    KEY_NEVER_HAS,
    KEY_OF_THE_END,
    LEAST_SHARE,
    LONGEST_KEY,
    LONGEST_SAY,
    MOST_PROMPTS,
    SECONDS,
)
from service.plans.ending import check_end, check_priorities
from service.plans.kinds import KINDS, StageKind, StagePriority
from service.plans.limits import check_limits, check_temperature
from service.plans.members import Members, pointer, said
from service.plans.model import Ends, Prompt, Ramp, Stage
from service.plans.schema import NO_PRIORITY, PROMPT_MEMBERS, RAMP_MEMBERS, STAGE_MEMBERS


class _BandIs(StrEnum):
    ABSOLUTE = "absolute"
    RELATIVE = "relative"


class _SaidPriority(StrEnum):
    NONE = NO_PRIORITY
    LOW = StagePriority.LOW
    MEDIUM = StagePriority.MEDIUM
    HIGH = StagePriority.HIGH
    BY_PHASE = StagePriority.BY_PHASE


def stage_from_json(body: object, i: int, problems: list[Problem]) -> Stage | None:
    """The stage, or None when there is something wrong with it."""
    field = pointer("/stages", i)
    if not isinstance(body, Mapping):
        problems.append(
            Problem(field, f"stage {i + 1} is {said(body)}", "a stage is an object with key and kind")
        )
        return None
    known_before = len(problems)
    members = Members(body, field, f"stage {i + 1}", problems)
    key = _key(members)
    if key is not None:
        members.name = f"stage '{key}'"
    members.only(STAGE_MEMBERS)
    members.need("kind", f"take one of {', '.join(StageKind)}")
    kind = members.choice("kind", StageKind)
    if key is None or kind is None:
        return None
    stage = _of_kind(members, key, kind)
    if len(problems) > known_before:
        return None
    check_end(members, stage)
    check_limits(members, stage)
    check_priorities(members, stage)
    return stage if len(problems) == known_before else None


def _key(members: Members) -> str | None:
    if not members.need("key", "give it a short key, as primary or rest-1"):
        return None
    key = members.text("key", LONGEST_KEY)
    if key is None:
        return None
    if key != members.get("key") or not re.search(KEY_BEGINS, key) or re.search(KEY_NEVER_HAS, key):
        members.refuse("key", f"key is {said(members.get('key'))}", "use a to z, 0 to 9, - and _, as rest-1")
        return None
    if key == KEY_OF_THE_END:
        members.refuse("key", f"'{key}' is where a batch goes that ends", "take another key")
        return None
    return key


def _of_kind(members: Members, key: str, kind: StageKind) -> Stage:
    """The stage as it stands in its members, what is absent filled in."""
    kind_s = KINDS[kind]

    def seconds(member: str) -> float | None:
        return members.bounded(member, SECONDS[member], " s")

    alarm_after_s = _or(seconds("alarm_after_s"), kind_s.alarm_after_s)
    deadband_c = members.bounded("deadband_c", DEADBAND_C, " C")
    return Stage(
        key=key,
        kind=kind,
        target_c=_target(members, kind),
        low_c=members.number("low_c", "give degrees Celsius as a number"),
        high_c=members.number("high_c", "give degrees Celsius as a number"),
        relative=members.choice("band", _BandIs) is _BandIs.RELATIVE,
        lasts_s=seconds("lasts_s"),
        ends=members.choice("ends", Ends) or Ends.BREWER,
        share=members.bounded("share", (LEAST_SHARE, 1.0), ""),
        reach_within_s=_or(seconds("reach_within_s"), kind_s.reach_within_s),
        alarm_after_s=alarm_after_s,
        clear_after_s=_or(seconds("clear_after_s"), _or(kind_s.clear_after_s, alarm_after_s)),
        deadband_c=_or(deadband_c, kind_s.deadband_c) or 0.0,
        warm_priority=_priority(members, "warm_priority", kind_s.warm_priority),
        cold_priority=_priority(members, "cold_priority", kind_s.cold_priority),
        overdue_after_s=_or(seconds("overdue_after_s"), kind_s.overdue_after_s) or 0.0,
        prompts=_prompts(members),
    )


def _or(value: float | None, default: float | None) -> float | None:
    return default if value is None else value


def _target(members: Members, kind: StageKind) -> float | Ramp | None:
    kind_s = KINDS[kind]
    value = members.get("target_c")
    if value is None:
        if kind_s.needs_target:
            members.need("target_c", f"a {kind} needs a target; give degrees Celsius")
        return None
    if not isinstance(value, Mapping):
        target_c = members.number("target_c", "give degrees Celsius, or a ramp with from, to and over_s")
        if target_c is not None:
            check_temperature(members, "target_c", target_c, kind_s.coldest_c, kind_s.warmest_c)
        return target_c
    ramp = members.inside("target_c", value)
    ramp.only(RAMP_MEMBERS)
    for member in RAMP_MEMBERS:
        ramp.need(member, "a ramp has from, to (C) and over_s (s)")
    from_c, to_c = ramp.number("from"), ramp.number("to")
    for member, temp_c in (("from", from_c), ("to", to_c)):
        if temp_c is not None:
            check_temperature(ramp, member, temp_c, kind_s.coldest_c, kind_s.warmest_c)
    over_s = ramp.bounded("over_s", SECONDS["over_s"], " s")
    if from_c is None or to_c is None or over_s is None:
        return None
    return Ramp(from_c, to_c, over_s)


def _priority(members: Members, member: str, default: StagePriority | None) -> StagePriority | None:
    said_priority = members.choice(member, _SaidPriority)
    if said_priority is None:
        return default
    return None if said_priority is _SaidPriority.NONE else StagePriority(said_priority.value)


def _prompts(members: Members) -> tuple[Prompt, ...]:
    found = []
    for i, entry in enumerate(members.items("prompts", MOST_PROMPTS)):
        member = f"prompts/{i}"
        if not isinstance(entry, Mapping):
            members.refuse(member, f"prompt {i + 1} is {said(entry)}", "give an object with say and at_s")
            continue
        prompt = members.inside(member, entry)
        prompt.only(PROMPT_MEMBERS)
        prompt.need("say", "give the words that the brewer shall read")
        say = prompt.text("say", LONGEST_SAY)
        at_s = prompt.bounded("at_s", SECONDS["at_s"], " s")
        before_end_s = prompt.bounded("before_end_s", SECONDS["before_end_s"], " s")
        if (prompt.get("at_s") is None) == (prompt.get("before_end_s") is None):
            prompt.refuse("", f"prompt {i + 1} needs one time", "give either at_s or before_end_s")
        elif say is not None:
            found.append(Prompt(say, at_s, before_end_s))
    return tuple(found)


def stage_to_json(stage: Stage) -> dict[str, object]:
    """The stage as JSON values, every member there; null is what `stage_from_json` takes as absent."""
    target: object = stage.target_c
    if isinstance(stage.target_c, Ramp):
        target = {"from": stage.target_c.from_c, "to": stage.target_c.to_c, "over_s": stage.target_c.over_s}
    return {
        "key": stage.key,
        "kind": stage.kind.value,
        "target_c": target,
        "low_c": stage.low_c,
        "high_c": stage.high_c,
        "band": (_BandIs.RELATIVE if stage.relative else _BandIs.ABSOLUTE).value,
        "lasts_s": stage.lasts_s,
        "ends": stage.ends.value,
        "share": stage.share,
        "reach_within_s": stage.reach_within_s,
        "alarm_after_s": stage.alarm_after_s,
        "clear_after_s": stage.clear_after_s,
        "deadband_c": stage.deadband_c,
        "warm_priority": NO_PRIORITY if stage.warm_priority is None else stage.warm_priority.value,
        "cold_priority": NO_PRIORITY if stage.cold_priority is None else stage.cold_priority.value,
        "overdue_after_s": stage.overdue_after_s,
        "prompts": [
            {"say": prompt.say, "at_s": prompt.at_s, "before_end_s": prompt.before_end_s}
            for prompt in stage.prompts
        ],
    }
