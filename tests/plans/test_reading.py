from collections.abc import Mapping

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.errors import InvalidInputError, Problem
from service.plans.model import Ends, Plan, Prompt, Ramp
from service.plans.reading import plan_from_json, plan_to_json
from tests.plans.given import Json, plan, plan_json, plan_jsons, stage, stage_json


def problems_of(body: object) -> tuple[Problem, ...]:
    with pytest.raises(InvalidInputError) as caught:
        plan_from_json(body)
    return caught.value.problems


def problem_of_stage(kind: str, /, **members: object) -> Problem:
    problems = problems_of(plan_json(stage_json(kind, **members)))
    assert len(problems) == 1, problems
    return problems[0]


def test_a_plan_is_read_as_it_was_written() -> None:
    body = plan_json(
        {
            "key": "primary",
            "kind": "primary",
            "target_c": {"from": 18, "to": 20, "over_s": 86400},
            "low_c": -1.5,
            "high_c": 1.5,
            "band": "relative",
            "lasts_s": 777600,
            "ends": "share",
            "share": 0.75,
            "reach_within_s": 100,
            "alarm_after_s": 200,
            "clear_after_s": 300,
            "deadband_c": 0.4,
            "warm_priority": "low",
            "cold_priority": "none",
            "overdue_after_s": 500,
            "prompts": [{"at_s": 432000, "say": " Dry hops "}, {"before_end_s": 60, "say": "Look"}],
        }
    )

    read = plan_from_json(body)

    primary = read.stages[0]
    assert read.name == "Invented brown"
    assert (primary.key, primary.kind, primary.target_c) == ("primary", "primary", Ramp(18.0, 20.0, 86400.0))
    assert (primary.low_c, primary.high_c, primary.relative) == (-1.5, 1.5, True)
    assert (primary.lasts_s, primary.ends, primary.share) == (777600.0, Ends.SHARE, 0.75)
    assert (primary.reach_within_s, primary.alarm_after_s, primary.clear_after_s) == (100.0, 200.0, 300.0)
    assert (primary.deadband_c, primary.overdue_after_s) == (0.4, 500.0)
    assert (primary.warm_priority, primary.cold_priority) == ("low", None)
    assert primary.prompts == (Prompt("Dry hops", at_s=432000.0), Prompt("Look", before_end_s=60.0))


def test_null_is_taken_as_absent() -> None:
    nothing = dict.fromkeys(("low_c", "band", "ends", "share", "alarm_after_s", "warm_priority", "prompts"))

    assert stage("mash", **nothing) == stage("mash")


def test_a_delay_given_to_a_kind_without_one_is_used_both_ways() -> None:
    chilling = stage("chill", warm_priority="medium", alarm_after_s=120)

    assert (chilling.alarm_after_s, chilling.clear_after_s, chilling.warm_priority) == (
        120.0,
        120.0,
        "medium",
    )


@given(plan_jsons())
@settings(max_examples=60, deadline=None)
def test_a_plan_survives_being_written_and_read(body: Json) -> None:
    first = plan_from_json(body)

    written = plan_to_json(first)

    assert plan_from_json(written) == first
    assert plan_to_json(plan_from_json(written)) == written


@pytest.mark.parametrize("body", [None, 3, "plan", [], True], ids=str)
def test_what_is_no_object_is_no_plan(body: object) -> None:
    assert problems_of(body)[0].field == ""


@pytest.mark.parametrize(
    "change, field, words",
    [
        ({"name": None}, "/name", "missing"),
        ({"name": "  "}, "/name", "blank"),
        ({"name": 3}, "/name", "no text"),
        ({"name": "x" * 81}, "/name", "81 characters"),
        ({"name": "two\nlines"}, "/name", "no text"),
        ({"name": "half \ud800"}, "/name", "no text"),
        ({"stages": None}, "/stages", "no stages"),
        ({"stages": []}, "/stages", "no stages"),
        ({"stages": {}}, "/stages", "no list"),
        ({"stages": [{"key": "a", "kind": "hold"}] * 51}, "/stages", "51 entries"),
        ({"stages": ["mash"]}, "/stages/0", "stage 1"),
        ({"colour": "brown"}, "/colour", "no member"),
        ({"a/b~c": 1}, "/a~1b~0c", "no member"),
        ({"\ud800": 1}, "/\\ud800", "no member"),
    ],
)
def test_a_wrong_plan_is_refused_with_its_field(change: Json, field: str, words: str) -> None:
    body = {**plan_json(stage_json("hold")), **change}

    problem = problems_of(body)[0]

    assert problem.field == field
    assert words in problem.problem
    assert problem.remedy


NOT_A_NUMBER: list[object] = ["67", True, [67], float("nan"), float("inf"), -float("inf"), 10**400, 1e300]

WRONG_STAGES: list[tuple[str, Mapping[str, object], str, str]] = [
    # kind, members, field inside the stage, words
    ("hold", {"key": None}, "key", "missing"),
    ("hold", {"key": ""}, "key", "blank"),
    ("hold", {"key": "Rest One"}, "key", "Rest One"),
    ("hold", {"key": "-rest"}, "key", "-rest"),
    ("hold", {"key": "rest "}, "key", "rest "),
    ("hold", {"key": "x" * 41}, "key", "41 characters"),
    ("hold", {"key": "end"}, "key", "goes"),
    ("hold", {"kind": None}, "kind", "missing"),
    ("hold", {"kind": "bake"}, "kind", "bake"),
    ("hold", {"kind": ["mash"]}, "kind", "a list"),
    ("hold", {"target": 20}, "target", "no member"),
    ("mash", {"target_c": None}, "target_c", "missing"),
    ("mash", {"target_c": 5}, "target_c", "5 C"),
    ("mash", {"target_c": 152}, "target_c", "152 F is 66.7 C"),
    ("primary", {"target_c": 68}, "target_c", "Fahrenheit"),
    ("crash", {"target_c": 35}, "target_c", "Fahrenheit"),
    ("primary", {"target_c": 500}, "target_c", "500 C"),
    ("primary", {"target_c": {"from": 64, "to": 20, "over_s": 60}}, "target_c/from", "Fahrenheit"),
    ("primary", {"target_c": {"from": 18, "to": 70, "over_s": 60}}, "target_c/to", "Fahrenheit"),
    ("primary", {"target_c": {"from": 18, "to": 20}}, "target_c/over_s", "missing"),
    ("primary", {"target_c": {"from": 18, "to": 20, "over_s": 0}}, "target_c/over_s", "0 s"),
    ("primary", {"target_c": {"from": 18, "to": 20, "over_s": 60, "in_s": 1}}, "target_c/in_s", "no member"),
    ("primary", {"target_c": {"from": 18, "to": 20, "over_s": 9}, "lasts_s": 8}, "target_c/over_s", "9 s"),
    ("mash", {"target_c": 67, "low_c": 150}, "low_c", "150 F is 65.6 C"),
    ("mash", {"target_c": 67, "high_c": -11}, "high_c", "-11 C"),
    ("mash", {"target_c": 67, "low_c": 68, "high_c": 66}, "low_c", "not below high_c 66 C"),
    ("mash", {"target_c": 67, "low_c": 67, "high_c": 67}, "low_c", "not below"),
    ("mash", {"target_c": 67, "low_c": 67.5}, "target_c", "below its low_c, 67.5 C"),
    ("mash", {"target_c": 67, "high_c": 66.5}, "target_c", "above its high_c, 66.5 C"),
    ("crash", {"target_c": -1}, "target_c", "below the limit that a crash has by itself, 0 C"),
    ("primary", {"target_c": {"from": 18, "to": 22, "over_s": 60}, "high_c": 21}, "target_c/to", "above"),
    ("primary", {"target_c": {"from": 18, "to": 22, "over_s": 60}, "low_c": 19}, "target_c/from", "below"),
    ("primary", {"target_c": 20, "band": "relative", "low_c": 18}, "low_c", "distance"),
    ("primary", {"target_c": 20, "band": "relative", "high_c": -1}, "high_c", "distance"),
    ("primary", {"target_c": 20, "band": "relative", "high_c": 31}, "high_c", "distance"),
    ("primary", {"target_c": 20, "band": "relative", "low_c": 0, "high_c": 0}, "low_c", "not below"),
    ("primary", {"band": "around"}, "band", "around"),
    ("hold", {"band": "relative", "low_c": -1}, "band", "needs a target"),
    ("mash", {"target_c": 67, "deadband_c": 3}, "deadband_c", "as wide as the band"),
    ("hold", {"low_c": 10, "high_c": 12, "deadband_c": 2}, "deadband_c", "as wide as the band"),
    ("mash", {"deadband_c": -0.1}, "deadband_c", "-0.1 C"),
    ("mash", {"ends": "time"}, "lasts_s", "does not say when"),
    ("mash", {"ends": "whenever"}, "ends", "whenever"),
    ("mash", {"lasts_s": 0}, "lasts_s", "0 s"),
    ("mash", {"lasts_s": -60}, "lasts_s", "-60 s"),
    ("mash", {"lasts_s": 1e9}, "lasts_s", "1e+09 s"),
    ("primary", {"ends": "share"}, "share", "does not say which"),
    ("primary", {"ends": "share", "share": 75}, "share", "75"),
    ("primary", {"ends": "share", "share": 0}, "share", "0"),
    ("primary", {"ends": "brewer", "share": 0.5}, "share", "means nothing"),
    ("mash", {"ends": "steady-gravity"}, "ends", "nothing ferments"),
    ("chill", {"ends": "share", "share": 0.5}, "ends", "nothing ferments"),
    ("stand", {"ends": "reached"}, "ends", "nothing to reach"),
    ("mash", {"reach_within_s": 0}, "reach_within_s", "0 s"),
    ("mash", {"alarm_after_s": -1}, "alarm_after_s", "-1 s"),
    ("mash", {"clear_after_s": 604801}, "clear_after_s", "604801 s"),
    ("mash", {"overdue_after_s": -1}, "overdue_after_s", "-1 s"),
    ("mash", {"warm_priority": "urgent"}, "warm_priority", "urgent"),
    ("mash", {"warm_priority": "by-phase"}, "warm_priority", "nothing ferments"),
    ("chill", {"warm_priority": "low"}, "warm_priority", "no delay"),
    ("chill", {"cold_priority": "low", "alarm_after_s": 60}, "cold_priority", "no low_c"),
    ("hold", {"warm_priority": "low", "alarm_after_s": 60}, "warm_priority", "no high_c"),
    ("hold", {"prompts": {}}, "prompts", "no list"),
    ("hold", {"prompts": [{"say": "x", "at_s": 1}] * 51}, "prompts", "51 entries"),
    ("hold", {"prompts": [3]}, "prompts/0", "3"),
    ("hold", {"prompts": [{"at_s": 1}]}, "prompts/0/say", "missing"),
    ("hold", {"prompts": [{"at_s": 1, "say": "x" * 201}]}, "prompts/0/say", "201"),
    ("hold", {"prompts": [{"at_s": 1, "say": "x", "loud": 1}]}, "prompts/0/loud", "no member"),
    ("hold", {"prompts": [{"say": "x"}]}, "prompts/0", "needs one time"),
    (
        "hold",
        {"lasts_s": 9, "prompts": [{"say": "x", "at_s": 1, "before_end_s": 1}]},
        "prompts/0",
        "one time",
    ),
    ("hold", {"lasts_s": 9, "prompts": [{"say": "x", "at_s": 10}]}, "prompts/0/at_s", "after the end"),
    (
        "hold",
        {"lasts_s": 9, "prompts": [{"say": "x", "before_end_s": 10}]},
        "prompts/0/before_end_s",
        "before",
    ),
    ("hold", {"prompts": [{"say": "x", "before_end_s": 10}]}, "prompts/0/before_end_s", "not planned"),
]


@pytest.mark.parametrize("kind, members, field, words", WRONG_STAGES)
def test_a_wrong_stage_is_refused_with_stage_field_and_remedy(
    kind: str, members: Mapping[str, object], field: str, words: str
) -> None:
    problem = problem_of_stage(kind, **members)

    assert problem.field == f"/stages/0/{field}"
    assert words in problem.problem
    assert problem.problem.startswith((f"stage '{kind}':", "stage 1:"))
    assert problem.remedy


@pytest.mark.parametrize("value", NOT_A_NUMBER, ids=lambda value: str(value)[:8])
@pytest.mark.parametrize(
    "member", ["target_c", "low_c", "high_c", "lasts_s", "share", "alarm_after_s", "deadband_c"]
)
def test_what_is_no_number_is_never_taken_for_one(member: str, value: object) -> None:
    problem = problem_of_stage("hold", **{member: value})

    assert problem.field == f"/stages/0/{member}"


@pytest.mark.parametrize(
    "member, distance_c, words", [("low_c", 1, "below the target"), ("high_c", -1, "above")]
)
def test_a_distance_on_the_wrong_side_is_told_its_side(member: str, distance_c: float, words: str) -> None:
    problem = problem_of_stage("primary", target_c=20, band="relative", **{member: distance_c})

    assert words in problem.remedy


def test_a_distance_may_be_as_wide_as_can_be() -> None:
    assert stage("primary", target_c=20, band="relative", low_c=-30, high_c=30).low_c == -30.0


def test_limits_that_look_like_distances_are_recognised() -> None:
    problem = problem_of_stage("primary", target_c=20, low_c=-1.5, high_c=1.5)

    assert "above its high_c" in problem.problem
    assert '"band": "relative"' in problem.remedy


@pytest.mark.parametrize(
    "kind, members",
    [
        ("mash", {"target_c": 67, "low_c": 67.5}),
        ("crash", {"target_c": -1}),
        ("hold", {"target_c": 20, "low_c": 21}),
        ("primary", {"target_c": 20, "low_c": 17, "high_c": 19.5}),
        ("primary", {"target_c": 20, "high_c": 19.5}),
        ("crash", {"target_c": 9, "low_c": 1, "high_c": 8}),
        ("crash", {"target_c": -3, "low_c": -2, "high_c": 8}),
    ],
)
def test_distances_are_suggested_only_for_what_could_be_distances(
    kind: str, members: Mapping[str, object]
) -> None:
    remedy = problem_of_stage(kind, **members).remedy

    assert remedy.startswith("give a ")
    assert ("relative" in remedy) == (members.get("low_c") == -2)


@pytest.mark.parametrize("target_c", [500, -10, 1])
def test_what_is_absurd_in_fahrenheit_too_is_not_called_fahrenheit(target_c: float) -> None:
    problem = problem_of_stage("primary", target_c=target_c)

    assert "Fahrenheit" not in problem.problem
    assert problem.remedy == "give 2 C to 45 C here"


def test_a_problem_is_told_with_the_key_of_its_stage_or_else_its_number() -> None:
    assert problem_of_stage("mash", target_c=5).problem.startswith("stage 'mash': ")
    assert problem_of_stage("mash", key="No").problem.startswith("stage 1: ")


def test_true_is_said_as_json_says_it() -> None:
    assert "ends is true" in problem_of_stage("hold", ends=True).problem


def test_the_longest_name_and_the_most_stages_are_taken() -> None:
    body = {"name": "x" * 80, "stages": [{"key": f"s{i}", "kind": "hold"} for i in range(50)]}

    assert len(plan_from_json(body).stages) == 50


def test_a_misspelt_member_is_told_its_right_name() -> None:
    assert problem_of_stage("hold", lastsd_s=60).remedy == "did you mean lasts_s?"


def test_every_wrong_stage_is_told_at_once() -> None:
    body = plan_json(
        stage_json("mash", target_c=152), stage_json("boil"), stage_json("primary", lasts_s="9 d")
    )

    fields = [problem.field for problem in problems_of(body)]

    assert fields == ["/stages/0/target_c", "/stages/2/lasts_s"]


def test_two_stages_may_not_share_a_key() -> None:
    body = plan_json(stage_json("hold"), stage_json("boil"), stage_json("hold"))

    (problem,) = problems_of(body)

    assert problem.field == "/stages/2/key"
    assert "as stage 1 has" in problem.problem


def test_a_kitchen_in_the_mountains_may_boil_at_its_own_target() -> None:
    assert stage("boil", target_c=90).target_c == 90.0


def test_a_plan_finds_its_stages_by_key() -> None:
    two: Plan = plan(stage_json("mash"), stage_json("boil"))

    assert two.stage("boil") is two.stages[1]
    assert two.stage("chill") is None
    assert two.index("boil") == 1


_JUNK = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=9), inner, max_size=3),
    max_leaves=6,
)


@given(
    _JUNK, st.sampled_from(["name", "stages", "key", "kind", "target_c", "low_c", "ends", "prompts", "band"])
)
@settings(max_examples=80, deadline=None)
def test_no_json_at_all_makes_the_reader_fail(junk: object, member: str) -> None:
    inside = member not in {"name", "stages"}
    body = plan_json(stage_json("mash", **({member: junk} if inside else {})))
    if not inside:
        body[member] = junk

    problems: tuple[Problem, ...] = ()
    read = None
    try:
        read = plan_from_json(body)
    except InvalidInputError as error:
        problems = error.problems

    assert problems or (read is not None and plan_from_json(plan_to_json(read)) == read)
    assert all("".join((problem.field, problem.problem, problem.remedy)).encode() for problem in problems)
