from datetime import datetime
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.errors import ConflictError, GylewatchError, InvalidInputError, NotFoundError
from service.plans.course import (
    END,
    Course,
    CourseState,
    How,
    advance,
    amend,
    begin,
    current,
    prolong,
    reached,
)
from service.plans.model import Plan
from tests.plans.given import BREW_DAY, NOON, days, hours, is_sound, minutes, plan, plans, seconds, stage_json

NOW = NOON + days(2)


def in_primary() -> Course:
    """Mashed in at noon, boiling from 13:00 to 14:00, chilled by 14:30; now it is two days later."""
    return reached(BREW_DAY, begin(BREW_DAY, NOON, NOW), NOON + hours(2.5))


def times(course: Course) -> list[tuple[str, datetime, datetime | None]]:
    return [(step.stage_key, step.entered_at, step.left_at) for step in course.steps]


def test_a_new_entry_moves_the_end_of_the_step_before() -> None:
    course = amend(BREW_DAY, in_primary(), 4, entered_at=NOON + hours(3), now=NOW)

    assert times(course)[2:] == [
        ("chill", NOON + hours(2), NOON + hours(3)),
        ("primary", NOON + hours(3), None),
    ]
    assert course.steps[3].how is How.AMENDED


def test_a_new_end_moves_the_entry_of_the_step_after() -> None:
    course = amend(BREW_DAY, in_primary(), 3, left_at=NOON + hours(4), now=NOW)

    assert times(course)[2:] == [
        ("chill", NOON + hours(2), NOON + hours(4)),
        ("primary", NOON + hours(4), None),
    ]
    assert course.steps[3].how is How.AMENDED


def test_a_step_whose_end_stays_leaves_the_step_after_alone() -> None:
    before = in_primary()

    course = amend(BREW_DAY, before, 3, entered_at=NOON + hours(2.1), now=NOW)

    assert course.steps[1].left_at == NOON + hours(2.1)
    assert course.steps[3] == before.steps[3]


def test_the_pitching_moves_along_when_it_was_taken_from_primary() -> None:
    assert amend(BREW_DAY, in_primary(), 4, entered_at=NOON + hours(3), now=NOW).pitched_at == NOON + hours(3)


def test_a_pitching_that_was_said_stays() -> None:
    course = begin(BREW_DAY, NOON, NOW, pitched_at=NOON + hours(2.2))
    course = reached(BREW_DAY, course, NOON + hours(2.5))

    assert amend(BREW_DAY, course, 4, entered_at=NOON + hours(3), now=NOW).pitched_at == NOON + hours(2.2)


def test_what_ends_by_time_keeps_its_length_when_its_entry_moves() -> None:
    course = amend(BREW_DAY, in_primary(), 1, entered_at=NOON + minutes(10), now=NOW)

    assert times(course)[:3] == [
        ("mash", NOON + minutes(10), NOON + minutes(70)),
        ("boil", NOON + minutes(70), NOON + minutes(130)),
        ("chill", NOON + minutes(130), NOON + minutes(150)),
    ]


def test_a_longer_length_moves_what_follows_by_time() -> None:
    course = amend(BREW_DAY, in_primary(), 1, lasts_s=4200, now=NOW)

    assert [step.left_at for step in course.steps[:3]] == [
        NOON + minutes(70),
        NOON + minutes(130),
        NOON + minutes(150),
    ]
    assert course.steps[0].lasts_s == 4200.0


def test_a_step_that_elapsed_too_soon_runs_again_with_more_time() -> None:
    course = begin(BREW_DAY, NOON, NOON + minutes(62))

    longer = amend(BREW_DAY, course, 1, lasts_s=4200, now=NOON + minutes(62))

    assert times(longer) == [("mash", NOON, None)]
    assert longer.state is CourseState.RUNNING


def test_a_batch_that_ended_by_time_runs_again_with_more_time() -> None:
    short = plan(stage_json("mash", lasts_s=600, ends="time"))
    course = begin(short, NOON, NOON + minutes(11))

    longer = amend(short, course, 1, lasts_s=1200, now=NOON + minutes(11))

    assert (longer.state, longer.ended_at) == (CourseState.RUNNING, None)


def test_an_earlier_entry_may_mean_that_the_step_is_over() -> None:
    course = begin(BREW_DAY, NOON, NOON + minutes(30))

    earlier = amend(BREW_DAY, course, 1, entered_at=NOON - minutes(40), now=NOON + minutes(30))

    assert times(earlier) == [
        ("mash", NOON - minutes(40), NOON + minutes(20)),
        ("boil", NOON + minutes(20), None),
    ]


def test_the_end_of_a_batch_can_be_put_right() -> None:
    ended = advance(BREW_DAY, in_primary(), END, NOON + days(2), NOW)

    course = amend(BREW_DAY, ended, 4, left_at=NOON + days(1), now=NOW)

    assert course.ended_at == NOON + days(1)
    assert is_sound(course)


@pytest.mark.parametrize(
    "n, change, field, words",
    [
        (4, {"entered_at": NOON + hours(1.9)}, "/entered_at", "'chill' and 'primary' would overlap"),
        (4, {"entered_at": NOW + seconds(1)}, "/entered_at", "future"),
        (4, {"entered_at": NOON.replace(tzinfo=None)}, "/entered_at", "no offset"),
        (3, {"entered_at": NOON + hours(2.6)}, "/entered_at", "'chill' would be left before it is entered"),
        (3, {"left_at": NOON + hours(1.5)}, "/left_at", "'chill' would be left before it is entered"),
        (3, {"left_at": NOW + seconds(1)}, "/left_at", "future"),
        (1, {"left_at": NOON + hours(1.6)}, "/left_at", "overlap"),
        (1, {"lasts_s": 7200}, "/lasts_s", "'boil' and 'chill' would overlap"),
        (1, {"lasts_s": 0}, "/lasts_s", "no length"),
        (1, {"lasts_s": float("nan")}, "/lasts_s", "no length"),
        (4, {"lasts_s": 1e9}, "/lasts_s", "no length"),
        (1, {"lasts_s": 60, "left_at": NOON + hours(1)}, "/lasts_s", "both"),
        (1, {}, "", "nothing to change"),
    ],
    ids=str,
)
def test_an_impossible_time_is_refused_in_words(
    n: int, change: dict[str, Any], field: str, words: str
) -> None:
    with pytest.raises(InvalidInputError, match=words) as error:
        amend(BREW_DAY, in_primary(), n, **change, now=NOW)

    assert error.value.problems[0].field == field
    assert error.value.problems[0].remedy


def test_a_step_may_shrink_to_a_moment() -> None:
    by_end = amend(BREW_DAY, in_primary(), 3, left_at=NOON + hours(2), now=NOW)
    by_next = amend(BREW_DAY, in_primary(), 4, entered_at=NOON + hours(2), now=NOW)

    assert by_end == by_next
    assert times(by_end)[2] == ("chill", NOON + hours(2), NOON + hours(2))


@pytest.mark.parametrize(
    "lasts_s, fits", [(0.9, False), (1, True), (730 * 86400, True), (730 * 86400 + 1, False)]
)
def test_a_length_is_from_a_second_to_two_years(lasts_s: float, fits: bool) -> None:
    course = in_primary()

    try:
        course = amend(BREW_DAY, course, 4, lasts_s=lasts_s, now=NOW)
        taken = True
    except InvalidInputError:
        taken = False

    assert taken is fits
    assert course.steps[-1].lasts_s == (lasts_s if fits else 864000.0)


@pytest.mark.parametrize("n", [0, 5, -1])
def test_there_are_only_the_steps_there_are(n: int) -> None:
    with pytest.raises(NotFoundError, match="1 to 4"):
        amend(BREW_DAY, in_primary(), n, entered_at=NOON, now=NOW)


def test_a_running_step_has_no_end_to_move() -> None:
    with pytest.raises(ConflictError, match="'primary' still runs"):
        amend(BREW_DAY, in_primary(), 4, left_at=NOON + days(1), now=NOW)


def test_a_step_left_by_hand_has_no_length_to_change() -> None:
    with pytest.raises(ConflictError, match="'chill' was left by hand"):
        amend(BREW_DAY, in_primary(), 3, lasts_s=600, now=NOW)


def test_the_length_of_a_running_step_can_be_set() -> None:
    course = amend(BREW_DAY, in_primary(), 4, lasts_s=86400 * 12, now=NOW)

    assert course.steps[-1].lasts_s == 86400.0 * 12


def test_prolonging_adds_to_what_was_planned() -> None:
    course = prolong(BREW_DAY, begin(BREW_DAY, NOON, NOON), 600, NOON + minutes(30))

    assert course.steps[-1].due_at == NOON + minutes(70)
    assert begin(BREW_DAY, NOON, NOON).steps[-1].due_at == NOON + minutes(60)


def test_prolonging_what_is_past_its_time_counts_from_now() -> None:
    course = prolong(BREW_DAY, in_primary(), 86400, NOON + days(20))

    assert course.steps[-1].due_at == NOON + days(21)


def test_prolonging_gives_a_length_to_a_stage_without_one() -> None:
    open_ended = plan(stage_json("hold"))

    course = prolong(open_ended, begin(open_ended, NOON, NOON), 600, NOON + minutes(5))

    assert course.steps[-1].due_at == NOON + minutes(15)


@pytest.mark.parametrize("by_s", [0, -60, float("nan"), float("inf"), 1e9])
def test_nothing_is_prolonged_by_no_length(by_s: float) -> None:
    with pytest.raises(InvalidInputError, match="no length") as error:
        prolong(BREW_DAY, in_primary(), by_s, NOW)

    assert error.value.problems[0].field == "/by_s"


def test_a_batch_that_has_ended_is_not_prolonged() -> None:
    ended = advance(BREW_DAY, in_primary(), END, NOW, NOW)

    with pytest.raises(ConflictError, match="ended"):
        prolong(BREW_DAY, ended, 600, NOW)


@given(
    plans(),
    st.floats(0, 2e6),
    st.integers(1, 6),
    st.sampled_from(["entered_at", "left_at", "lasts_s"]),
    st.floats(-1e6, 2e6),
)
@settings(max_examples=80, deadline=None)
def test_amending_keeps_the_order_or_refuses(
    any_plan: Plan, gone_s: float, n: int, member: str, value_s: float
) -> None:
    now = NOON + seconds(gone_s)
    course = begin(any_plan, NOON, now)
    value = value_s if member == "lasts_s" else NOON + seconds(value_s)
    change: dict[str, Any] = {member: value}

    try:
        amended = amend(any_plan, course, n, **change, now=now)
    except GylewatchError:
        amended = course

    assert is_sound(amended)
    assert all(step.entered_at <= now for step in amended.steps)
    last = current(amended)
    assert last is not None or (amended.ended_at is not None and amended.ended_at <= now)
