"""The published JSON Schema of a plan, made from the same bounds and kinds that the reader uses.

What compares two members (limits with a target, prompts with a length) a schema cannot say; the reader
refuses that besides. What the reader accepts, the schema accepts.
"""

from service.plans.bounds import (
    COLDEST_LIMIT_C,
    DEADBAND_C,
    KEY_BEGINS,
    KEY_NEVER_HAS,
    KEY_OF_THE_END,
    LEAST_SHARE,
    LONGEST_KEY,
    LONGEST_NAME,
    LONGEST_SAY,
    MOST_PROMPTS,
    MOST_STAGES,
    SECONDS,
    TEXT_HAS,
    TEXT_NEVER_HAS,
    WARMEST_LIMIT_C,
    WIDEST_DISTANCE_C,
)
from service.plans.ending import BY_FERMENTATION
from service.plans.kinds import KINDS, KindDefaults, StageKind, StagePriority
from service.plans.model import Ends

Json = dict[str, object]

NO_PRIORITY = "none"
PLAN_MEMBERS = ("name", "stages")
STAGE_MEMBERS = (
    "key",
    "kind",
    "target_c",
    "low_c",
    "high_c",
    "band",
    "lasts_s",
    "ends",
    "share",
    "reach_within_s",
    "alarm_after_s",
    "clear_after_s",
    "deadband_c",
    "warm_priority",
    "cold_priority",
    "overdue_after_s",
    "prompts",
)
RAMP_MEMBERS = ("from", "to", "over_s")
PROMPT_MEMBERS = ("say", "at_s", "before_end_s")


def plan_schema() -> Json:
    """The schema of a plan: JSON Schema 2020-12, a new object at each call."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "Plan of a batch",
        "description": "Stages in the order in which they are passed. Temperatures are in C, times in s.",
        "type": "object",
        "additionalProperties": False,
        "required": list(PLAN_MEMBERS),
        "properties": {
            "name": _text(LONGEST_NAME),
            "stages": {
                "type": "array",
                "minItems": 1,
                "maxItems": MOST_STAGES,
                "items": {"$ref": "#/$defs/stage"},
            },
        },
        "$defs": {"stage": _stage(), "ramp": _ramp(), "prompt": _prompt()},
    }


def _stage() -> Json:
    priority: Json = {"enum": [NO_PRIORITY, *(word.value for word in StagePriority), None]}
    return {
        "type": "object",
        "description": "null, or leaving a member out, takes what a stage of this kind has by itself.",
        "additionalProperties": False,
        "required": ["key", "kind"],
        "properties": {
            "key": {
                "type": "string",
                "maxLength": LONGEST_KEY,
                "pattern": KEY_BEGINS,
                "not": {"anyOf": [{"pattern": KEY_NEVER_HAS}, {"const": KEY_OF_THE_END}]},
            },
            "kind": {"enum": [kind.value for kind in StageKind]},
            "target_c": {"anyOf": [{"type": ["number", "null"]}, {"$ref": "#/$defs/ramp"}]},
            "low_c": _number(-WIDEST_DISTANCE_C, WARMEST_LIMIT_C),
            "high_c": _number(COLDEST_LIMIT_C, WARMEST_LIMIT_C),
            "band": {"enum": ["absolute", "relative", None]},
            "lasts_s": _seconds("lasts_s"),
            "ends": {"enum": [*(end.value for end in Ends), None]},
            "share": _number(LEAST_SHARE, 1.0),
            "reach_within_s": _seconds("reach_within_s"),
            "alarm_after_s": _seconds("alarm_after_s"),
            "clear_after_s": _seconds("clear_after_s"),
            "deadband_c": _number(*DEADBAND_C),
            "warm_priority": priority,
            "cold_priority": priority,
            "overdue_after_s": _seconds("overdue_after_s"),
            "prompts": {
                "type": ["array", "null"],
                "maxItems": MOST_PROMPTS,
                "items": {"$ref": "#/$defs/prompt"},
            },
        },
        "allOf": [
            _when("ends", [Ends.TIME], _given("lasts_s")),
            _when(
                "ends", [Ends.SHARE], _given("share"), otherwise={"properties": {"share": {"type": "null"}}}
            ),
            *(_when("kind", [kind], _of_kind(KINDS[kind])) for kind in StageKind),
        ],
    }


def _of_kind(kind: KindDefaults) -> Json:
    """What holds for a stage of one kind only."""
    plausible: Json = {"minimum": kind.coldest_c, "maximum": kind.warmest_c}
    properties: Json = {"target_c": {**plausible, "properties": {"from": plausible, "to": plausible}}}
    if kind.kettle:
        properties["ends"] = {"not": {"enum": [end.value for end in BY_FERMENTATION]}}
        properties["warm_priority"] = {"not": {"const": StagePriority.BY_PHASE.value}}
        properties["cold_priority"] = {"not": {"const": StagePriority.BY_PHASE.value}}
    rules: Json = {"properties": properties}
    return {"allOf": [rules, _given("target_c")]} if kind.needs_target else rules


def _ramp() -> Json:
    return {
        "type": "object",
        "description": "A target that moves in a straight line from entry, for over_s.",
        "additionalProperties": False,
        "required": list(RAMP_MEMBERS),
        "properties": {
            "from": {"type": "number"},
            "to": {"type": "number"},
            "over_s": {**_seconds("over_s"), "type": "number"},
        },
    }


def _prompt() -> Json:
    return {
        "type": "object",
        "description": "A hand is wanted: so long after the entry of the stage, or before its planned end.",
        "additionalProperties": False,
        "required": ["say"],
        "properties": {
            "say": _text(LONGEST_SAY),
            "at_s": _seconds("at_s"),
            "before_end_s": _seconds("before_end_s"),
        },
        "oneOf": [_given("at_s"), _given("before_end_s")],
    }


def _text(longest: int) -> Json:
    return {
        "type": "string",
        "maxLength": longest,
        "pattern": TEXT_HAS,
        "not": {"pattern": TEXT_NEVER_HAS},
    }


def _number(least: float, most: float) -> Json:
    return {"type": ["number", "null"], "minimum": least, "maximum": most}


def _seconds(member: str) -> Json:
    return _number(*SECONDS[member])


def _given(member: str) -> Json:
    """The member is there and not null."""
    return {"required": [member], "properties": {member: {"not": {"type": "null"}}}}


def _when(
    member: str, words: list[Ends] | list[StageKind], then: Json, otherwise: Json | None = None
) -> Json:
    condition: Json = {
        "if": {"required": [member], "properties": {member: {"enum": [word.value for word in words]}}},
        "then": then,
    }
    return condition if otherwise is None else {**condition, "else": otherwise}
