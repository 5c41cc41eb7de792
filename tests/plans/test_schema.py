"""The published schema and the reader agree, as far as a schema can say it."""

import copy
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from service.errors import InvalidInputError
from service.plans.reading import plan_from_json, plan_schema, plan_to_json
from tests.plans.given import Json, plan_json, plan_jsons, stage_json

SCHEMA = Draft202012Validator(plan_schema())

VALUES = (
    st.none()
    | st.booleans()
    | st.sampled_from(
        ["", "x", "rest-1", "end", "Rest", "a\n", "none", "low", "by-phase", "time", "share", "mash"]
    )
    | st.sampled_from(["brewer", "steady-gravity", "hold", "primary", "absolute", "x" * 41, "x" * 300, " "])
    | st.integers(-100, 10**10)
    | st.floats(-200, 200)
    | st.sampled_from([0, 0.01, 1, 5, 20, 90, 110, 604800, 63072000])
    | st.lists(st.integers(), max_size=2)
    | st.dictionaries(st.sampled_from(["from", "to", "over_s", "x"]), st.integers(0, 60), max_size=3)
)

# Members of a hold that the reader compares with no other member, or in a way the schema says too.
ALONE = [
    "key",
    "target_c",
    "lasts_s",
    "share",
    "reach_within_s",
    "alarm_after_s",
    "clear_after_s",
    "deadband_c",
]


def accepts(body: object) -> bool:
    try:
        plan_from_json(body)
    except InvalidInputError:
        return False
    return True


def test_the_schema_is_a_schema() -> None:
    Draft202012Validator.check_schema(plan_schema())


def test_each_call_gives_a_schema_of_its_own() -> None:
    plan_schema().clear()

    assert plan_schema()["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@given(plan_jsons())
@settings(max_examples=40, deadline=None)
def test_what_the_reader_takes_and_writes_fits_the_schema(body: Json) -> None:
    assert SCHEMA.is_valid(body)
    assert SCHEMA.is_valid(plan_to_json(plan_from_json(body)))


@given(plan_jsons(), st.data())
@settings(max_examples=80, deadline=None)
def test_whatever_the_schema_refuses_the_reader_refuses(body: Json, data: st.DataObject) -> None:
    changed: Any = copy.deepcopy(body)
    written: Any = plan_to_json(plan_from_json(body))
    stage = data.draw(st.sampled_from(changed["stages"]))
    stage[data.draw(st.sampled_from(sorted(written["stages"][0])))] = data.draw(VALUES)

    assert SCHEMA.is_valid(changed) or not accepts(changed)


@given(st.sampled_from(ALONE), VALUES)
@settings(max_examples=200, deadline=None)
def test_for_members_that_stand_alone_schema_and_reader_say_the_same(member: str, value: object) -> None:
    body = plan_json(stage_json("hold", **{member: value}))

    assert SCHEMA.is_valid(body) == accepts(body)


@pytest.mark.parametrize("kind", ["mash", "chill", "primary", "rest", "crash"])
@given(target_c=VALUES, end=st.sampled_from(["time", "brewer", "share", "steady-gravity", None]))
@settings(max_examples=60, deadline=None)
def test_each_kind_has_the_same_targets_and_ends_in_both(
    kind: str, target_c: object, end: str | None
) -> None:
    # Limits far out, so that only the kind's own bounds decide.
    body = plan_json(stage_json(kind, target_c=target_c, ends=end, low_c=-10, high_c=110))

    assert SCHEMA.is_valid(body) == accepts(body)


@pytest.mark.parametrize(
    "members",
    [
        {"lasts_s": None, "ends": "time"},
        {"ends": "share"},
        {"share": 0.5},
        {"prompts": [{"say": "x"}]},
        {"prompts": [{"say": "x", "at_s": 1, "before_end_s": 1}], "lasts_s": 60},
        {"prompts": [{"at_s": 1}]},
        {"kind": "mash", "target_c": 67, "ends": "steady-gravity"},
        {"kind": "mash", "target_c": 67, "warm_priority": "by-phase"},
        {"kind": "mash"},
        {"kind": "mash", "target_c": {"from": 30, "to": 200, "over_s": 60}},
        {"colour": 1},
    ],
    ids=str,
)
def test_both_refuse_what_cannot_be(members: Json) -> None:
    body = plan_json({**stage_json("hold"), **members})

    assert not SCHEMA.is_valid(body)
    assert not accepts(body)
