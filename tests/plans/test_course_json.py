import json
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.errors import InvalidInputError
from service.plans.course import END, advance, begin, course_from_json, course_to_json
from service.plans.model import Plan
from tests.plans.given import BREW_DAY, NOON, plans, seconds


def test_a_course_is_kept_in_words_and_utc() -> None:
    course = advance(BREW_DAY, begin(BREW_DAY, NOON, NOON), END, NOON + seconds(0.5), NOON + seconds(9))

    assert course_to_json(course) == {
        "steps": [
            {
                "n": 1,
                "stage": "mash",
                "entered_at": "2026-11-25T12:00:00Z",
                "left_at": "2026-11-25T12:00:00.500000Z",
                "lasts_s": 3600.0,
                "how": "start",
            }
        ],
        "state": "ended",
        "pitched_at": None,
        "ended_at": "2026-11-25T12:00:00.500000Z",
    }


@given(plans(), st.floats(0, 5e6), st.none() | st.floats(-1e6, 0))
@settings(max_examples=60, deadline=None)
def test_a_course_survives_being_kept(any_plan: Plan, gone_s: float, pitched_s: float | None) -> None:
    pitched_at = None if pitched_s is None else NOON + seconds(pitched_s)
    course = begin(any_plan, NOON, NOON + seconds(gone_s), pitched_at)

    assert course_from_json(json.loads(json.dumps(course_to_json(course)))) == course


@pytest.mark.parametrize(
    "change, field",
    [
        ({"state": "lost"}, "/state"),
        ({"state": None}, "/state"),
        ({"steps": []}, "/steps"),
        ({"steps": None}, "/steps"),
        ({"ended_at": "yesterday"}, "/ended_at"),
        ({"pitched_at": "2026-11-25T12:00:00"}, "/pitched_at"),
        ({"colour": 1}, ""),
    ],
    ids=str,
)
def test_what_is_no_course_is_refused(change: dict[str, Any], field: str) -> None:
    body = {**course_to_json(begin(BREW_DAY, NOON, NOON)), **change}

    with pytest.raises(InvalidInputError) as error:
        course_from_json(body)

    assert error.value.problems[0].field == field


@pytest.mark.parametrize(
    "change, field",
    [
        ({"n": "1"}, "/steps/0"),
        ({"stage": None}, "/steps/0"),
        ({"entered_at": None}, "/steps/0"),
        ({"left_at": 7}, "/steps/0/left_at"),
        ({"lasts_s": "long"}, "/steps/0/lasts_s"),
        ({"how": "magic"}, "/steps/0/how"),
        ({"why": 1}, "/steps/0"),
    ],
    ids=str,
)
def test_what_is_no_step_is_refused(change: dict[str, Any], field: str) -> None:
    body: Any = course_to_json(begin(BREW_DAY, NOON, NOON))
    body["steps"][0].update(change)

    with pytest.raises(InvalidInputError) as error:
        course_from_json(body)

    assert error.value.problems[0].field == field


def test_a_list_is_no_course() -> None:
    with pytest.raises(InvalidInputError):
        course_from_json([])
