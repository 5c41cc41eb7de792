from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.errors import ConflictError, InvalidInputError
from service.plans.course import (
    END,
    Course,
    CourseState,
    How,
    Step,
    advance,
    begin,
    current,
    elapse,
    reached,
    stage_of,
    step_at,
)
from service.plans.model import Plan
from tests.plans.given import BREW_DAY, NOON, days, hours, is_sound, minutes, plan, plans, seconds, stage_json


def where(course: Course) -> str | None:
    step = current(course)
    return None if step is None else step.stage_key


def field_of(error: pytest.ExceptionInfo[InvalidInputError]) -> str:
    return error.value.problems[0].field


def in_primary() -> Course:
    """Mashed in at noon, boiled, chilled by 14:30."""
    return reached(BREW_DAY, begin(BREW_DAY, NOON, NOON + hours(2)), NOON + hours(2.5))


def test_a_batch_begins_in_its_first_stage() -> None:
    course = begin(BREW_DAY, NOON, NOON)

    assert course.steps == (Step(1, "mash", NOON, None, 3600.0, How.START),)
    assert (course.state, course.pitched_at, course.ended_at) == (CourseState.RUNNING, None, None)


def test_a_past_start_is_taken_through_what_ends_by_time_and_no_further() -> None:
    course = begin(BREW_DAY, NOON, NOON + days(3))

    assert [(step.stage_key, step.entered_at, step.left_at, step.how) for step in course.steps] == [
        ("mash", NOON, NOON + hours(1), "start"),
        ("boil", NOON + hours(1), NOON + hours(2), "time"),
        ("chill", NOON + hours(2), None, "time"),
    ]


def test_a_start_in_another_zone_is_the_same_moment() -> None:
    local = datetime.fromisoformat("2026-11-25T13:00:00+01:00")

    assert begin(BREW_DAY, local, NOON) == begin(BREW_DAY, NOON, NOON)


@pytest.mark.parametrize(
    "started_at, words",
    [
        (NOON + seconds(1), "future"),
        (NOON - days(4000), "ten years"),
        (NOON.replace(tzinfo=None), "no offset"),
    ],
)
def test_an_impossible_start_is_refused(started_at: datetime, words: str) -> None:
    with pytest.raises(InvalidInputError, match=words) as error:
        begin(BREW_DAY, started_at, NOON)

    assert field_of(error) == "/started_at"


def test_an_impossible_pitching_is_refused() -> None:
    with pytest.raises(InvalidInputError, match="future") as error:
        begin(BREW_DAY, NOON, NOON, pitched_at=NOON + hours(1))

    assert field_of(error) == "/pitched_at"


def test_a_stage_ends_by_time_at_its_own_time_however_late_that_is_seen() -> None:
    course = begin(BREW_DAY, NOON, NOON)

    assert elapse(BREW_DAY, course, NOON + minutes(60) - timedelta(microseconds=1)) == course
    late = elapse(BREW_DAY, course, NOON + minutes(61))
    assert late.steps[0].left_at == late.steps[1].entered_at == NOON + minutes(60)
    assert where(late) == "boil"


def test_the_batch_ends_when_its_last_stage_elapses() -> None:
    short = plan(stage_json("mash", lasts_s=600, ends="time"))

    course = begin(short, NOON, NOON + hours(1))

    assert (course.state, course.ended_at) == (CourseState.ENDED, NOON + minutes(10))
    assert current(course) is None
    assert elapse(short, course, NOON + days(1)) == course


def test_reaching_the_band_enters_the_next_stage() -> None:
    course = begin(BREW_DAY, NOON, NOON + hours(2))

    after = reached(BREW_DAY, course, NOON + hours(2.5))

    assert after.steps[-2].left_at == NOON + hours(2.5)
    assert after.steps[-1] == Step(4, "primary", NOON + hours(2.5), None, 864000.0, How.REACHED)


def test_reaching_the_band_of_the_last_stage_ends_the_batch() -> None:
    only_chill = plan(stage_json("chill", ends="reached"))

    course = reached(only_chill, begin(only_chill, NOON, NOON), NOON + minutes(9))

    assert (course.state, course.ended_at) == (CourseState.ENDED, NOON + minutes(9))


def test_a_band_is_reached_only_in_a_stage_that_ends_so_and_after_its_entry() -> None:
    with pytest.raises(ConflictError, match="'mash' ends by time"):
        reached(BREW_DAY, begin(BREW_DAY, NOON, NOON), NOON)

    with pytest.raises(InvalidInputError, match="before 'chill' was entered"):
        reached(BREW_DAY, begin(BREW_DAY, NOON, NOON + hours(2)), NOON + hours(1))


def test_entering_primary_is_pitching_unless_something_else_was_said() -> None:
    assert in_primary().pitched_at == NOON + hours(2.5)
    said = begin(BREW_DAY, NOON, NOON + hours(3), pitched_at=NOON + hours(2.2))
    assert reached(BREW_DAY, said, NOON + hours(2.5)).pitched_at == NOON + hours(2.2)


def test_going_back_to_primary_is_no_second_pitching() -> None:
    course = advance(BREW_DAY, in_primary(), "condition", NOON + days(9), NOON + days(9))

    again = advance(BREW_DAY, course, "primary", NOON + days(10), NOON + days(10))

    assert [step.stage_key for step in again.steps][-3:] == ["primary", "condition", "primary"]
    assert again.pitched_at == NOON + hours(2.5)
    assert again.state is CourseState.RUNNING


def test_conditioning_begins_with_its_stage() -> None:
    course = advance(BREW_DAY, in_primary(), "condition", NOON + days(9), NOON + days(9))

    assert course.state is CourseState.CONDITIONING


def test_conditioning_goes_on_in_the_stages_after_it() -> None:
    cellared = plan(
        stage_json("primary"), stage_json("condition", lasts_s=86400, ends="time"), stage_json("hold")
    )
    course = advance(cellared, begin(cellared, NOON, NOON), "condition", NOON, NOON)

    assert elapse(cellared, course, NOON + days(2)).state is CourseState.CONDITIONING
    skipped = advance(cellared, begin(cellared, NOON, NOON), "hold", NOON, NOON)
    assert skipped.state is CourseState.RUNNING


def test_advancing_may_pass_over_stages() -> None:
    course = advance(BREW_DAY, begin(BREW_DAY, NOON, NOON), "primary", NOON + minutes(5), NOON + minutes(5))

    assert [step.stage_key for step in course.steps] == ["mash", "primary"]
    assert course.steps[-1].how is How.ADVANCE


def test_advancing_may_be_dated_back_and_what_elapsed_since_is_counted() -> None:
    course = begin(BREW_DAY, NOON, NOON + minutes(50))

    after = advance(BREW_DAY, course, "boil", NOON + minutes(20), NOON + minutes(50))

    assert after.steps[0].left_at == after.steps[1].entered_at == NOON + minutes(20)
    long_ago = advance(BREW_DAY, in_primary(), "condition", NOON + days(10), NOON + days(30))
    assert (long_ago.state, long_ago.ended_at) == (CourseState.ENDED, NOON + days(24))


def test_advancing_counts_first_what_has_elapsed() -> None:
    course = begin(BREW_DAY, NOON, NOON)

    with pytest.raises(ConflictError, match="in 'boil' already, since 2026-11-25 13:00:00 UTC"):
        advance(BREW_DAY, course, "boil", NOON + minutes(61), NOON + minutes(61))


def test_advancing_to_the_end_ends_the_batch() -> None:
    course = advance(BREW_DAY, in_primary(), END, NOON + days(9), NOON + days(10))

    assert (course.state, course.ended_at) == (CourseState.ENDED, NOON + days(9))
    assert course.steps[-1].left_at == NOON + days(9)


def test_a_batch_that_has_ended_goes_nowhere() -> None:
    course = advance(BREW_DAY, in_primary(), END, NOON + days(9), NOON + days(9))

    with pytest.raises(ConflictError, match="ended at 2026-12-04 12:00:00 UTC"):
        advance(BREW_DAY, course, "condition", NOON + days(9), NOON + days(10))
    with pytest.raises(ConflictError, match="ended"):
        reached(BREW_DAY, course, NOON + days(10))


@pytest.mark.parametrize(
    "to, at, field, words",
    [
        ("bottle", NOON + hours(4), "/to", "no stage 'bottle'"),
        ("condition", NOON + hours(2.4), "/at", "before 'primary' was entered"),
        ("condition", NOON + hours(5.1), "/at", "future"),
        ("condition", (NOON + hours(4)).replace(tzinfo=None), "/at", "no offset"),
    ],
)
def test_an_impossible_advance_is_refused_in_words(to: str, at: datetime, field: str, words: str) -> None:
    with pytest.raises(InvalidInputError, match=words) as error:
        advance(BREW_DAY, in_primary(), to, at, NOON + hours(5))

    assert field_of(error) == field
    assert error.value.problems[0].remedy


def test_a_slip_may_be_put_right_at_the_same_moment() -> None:
    slipped = advance(BREW_DAY, begin(BREW_DAY, NOON, NOON), "chill", NOON, NOON)

    course = advance(BREW_DAY, slipped, "boil", NOON, NOON)

    found = step_at(course, NOON)
    assert found is not None
    assert found.stage_key == "boil"


@pytest.mark.parametrize(
    "at, key",
    [
        (NOON - seconds(1), None),
        (NOON, "mash"),
        (NOON + hours(1) - seconds(1), "mash"),
        (NOON + hours(1), "boil"),
        (NOON + days(300), "chill"),
    ],
)
def test_a_time_falls_in_the_step_that_was_entered_last(at: datetime, key: str | None) -> None:
    step = step_at(begin(BREW_DAY, NOON, NOON + hours(2)), at)

    assert (None if step is None else step.stage_key) == key


def test_after_its_end_a_batch_is_in_no_step() -> None:
    course = advance(BREW_DAY, in_primary(), END, NOON + days(9), NOON + days(9))

    assert step_at(course, NOON + days(9)) is None
    assert step_at(course, NOON + days(9) - seconds(1)) is not None


def test_a_step_of_another_plan_is_refused() -> None:
    other = plan(stage_json("hold"))

    with pytest.raises(ConflictError, match="no stage 'mash'"):
        stage_of(other, begin(BREW_DAY, NOON, NOON).steps[0])


@given(plans(), st.lists(st.floats(0, 5e5), min_size=1, max_size=5))
@settings(max_examples=60, deadline=None)
def test_however_often_one_looks_the_course_is_the_same_and_has_no_gap(
    any_plan: Plan, waits: list[float]
) -> None:
    now = NOON
    course = begin(any_plan, NOON, NOON)
    for wait_s in waits:
        now += seconds(wait_s)
        course = elapse(any_plan, course, now)

    assert is_sound(course)
    assert course == begin(any_plan, NOON, now)
    over_at = None if current(course) is None else course.steps[-1].due_at
    assert over_at is None or over_at > now or stage_of(any_plan, course.steps[-1]).ends != "time"


@given(plans(), st.lists(st.tuples(st.integers(0, 5), st.floats(0, 1), st.floats(0, 2e5)), max_size=6))
@settings(max_examples=60, deadline=None)
def test_wherever_one_advances_the_course_has_no_gap(
    any_plan: Plan, moves: list[tuple[int, float, float]]
) -> None:
    now = NOON
    course = begin(any_plan, NOON, NOON)
    keys = [stage.key for stage in any_plan.stages]
    for which, how_far_back, wait_s in moves:
        now += seconds(wait_s)
        course = elapse(any_plan, course, now)
        step = current(course)
        if step is None or step.stage_key == keys[which % len(keys)]:
            continue
        at = now - (now - step.entered_at) * how_far_back
        course = advance(any_plan, course, keys[which % len(keys)], max(at, step.entered_at), now)

    assert is_sound(course)


def test_a_course_that_has_a_gap_would_be_noticed() -> None:
    course = in_primary()
    torn = replace(course, steps=(replace(course.steps[0], left_at=NOON), *course.steps[1:]))

    assert is_sound(course)
    assert not is_sound(torn)
