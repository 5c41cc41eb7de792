"""What the cold and the bottles ask for by custom."""

from datetime import datetime, timedelta

import pytest

from service.plans.course import Course, advance, begin, dues
from service.plans.customary import is_customary, prompts_of
from service.plans.kinds import StageKind
from service.plans.model import Plan
from service.plans.reading import plan_from_json
from tests.plans.given import NOON, days

PLAN: Plan = plan_from_json(
    {
        "name": "Cold and bottles",
        "stages": [
            {"key": "primary", "kind": "primary", "target_c": 19, "lasts_s": 864000, "ends": "brewer"},
            {
                "key": "cold",
                "kind": "crash",
                "target_c": 4,
                "lasts_s": 172800,
                "ends": "brewer",
                "prompts": [{"at_s": 3600, "say": "Tilt it"}],
            },
            {"key": "bottles", "kind": "condition", "target_c": 20, "lasts_s": 1209600, "ends": "brewer"},
        ],
    }
)


def entered(key: str) -> Course:
    return advance(PLAN, begin(PLAN, NOON, NOON), key, NOON, NOON)


def asked(course: Course, at: datetime) -> list[str]:
    return [due.say for due in dues(PLAN, course, at) if due.kind == "prompt"]


def test_the_cold_begins_with_the_airlock_and_never_asks_to_seal() -> None:
    (say,) = asked(entered("cold"), NOON)

    assert "airlock" in say
    assert "Never seal a rigid vessel" in say


def test_a_plans_own_prompts_keep_their_numbers_beside_those_of_custom() -> None:
    found = dues(PLAN, entered("cold"), NOON + timedelta(hours=2))

    assert {(due.prompt, due.say[:7]) for due in found if due.kind == "prompt"} == {
        (0, "Tilt it"),
        (1, "Protect"),
    }


@pytest.mark.parametrize(
    ("after", "firm", "opened"), [(2.9, 0, 0), (3, 1, 0), (7, 2, 0), (14, 3, 0), (20.9, 3, 0), (21, 3, 1)]
)
def test_bottles_ask_for_a_squeeze_and_after_three_weeks_for_one_opened(
    after: float, firm: int, opened: int
) -> None:
    says = asked(entered("bottles"), NOON + days(after))

    assert len([say for say in says if "is it firm?" in say]) == firm
    assert len([say for say in says if "measure its gravity" in say]) == opened


def test_what_was_left_before_its_day_asks_no_more() -> None:
    course = advance(PLAN, entered("bottles"), "end", NOON + days(10), NOON + days(22))

    assert dues(PLAN, course, NOON + days(22)) == []


def test_the_plans_own_prompts_are_told_from_those_of_custom() -> None:
    assert not is_customary(PLAN, "cold", 0)
    assert is_customary(PLAN, "cold", 1)
    assert is_customary(PLAN, "bottles", 0)
    assert not is_customary(PLAN, "cold", None)
    assert not is_customary(PLAN, "none", 3)


def test_other_stages_ask_nothing_by_custom() -> None:
    assert {stage.kind for stage in PLAN.stages if prompts_of(stage) != stage.prompts} == {
        StageKind.CRASH,
        StageKind.CONDITION,
    }
