import pytest

from service.plans.course import END, Due, DueKind, advance, amend, begin, dues, elapse, prolong
from service.plans.dues import ShareReached
from tests.plans.given import BREW_DAY, NOON, days, hours, minutes, plan, seconds, stage, stage_json

PRIMARY = plan(
    stage_json(
        "primary",
        lasts_s=864000,
        ends="brewer",
        prompts=[{"say": "Dry hops", "at_s": 432000}, {"say": "Cool the bottles", "before_end_s": 86400}],
    ),
    stage_json("crash"),
)
MASH = plan(
    stage_json("mash", lasts_s=600, ends="time", prompts=[{"say": "Stir", "before_end_s": 0}]),
    stage_json("hold"),
)


def test_nothing_is_asked_before_its_time() -> None:
    course = begin(PRIMARY, NOON, NOON)

    assert dues(PRIMARY, course, NOON + days(5) - seconds(1)) == []


def test_a_prompt_is_asked_from_its_time_on() -> None:
    course = begin(PRIMARY, NOON, NOON)

    (due,) = dues(PRIMARY, course, NOON + days(5))

    assert due == Due(DueKind.PROMPT, "primary", "Dry hops", NOON + days(5), 1, 0)


def test_a_prompt_before_the_end_moves_with_a_stage_that_is_prolonged() -> None:
    course = begin(PRIMARY, NOON, NOON)
    longer = prolong(PRIMARY, course, 86400, NOON)

    said = [due.say for due in dues(PRIMARY, course, NOON + days(9))]
    said_later = [(due.say, due.at) for due in dues(PRIMARY, longer, NOON + days(10))]

    assert said == ["Dry hops", "Cool the bottles"]
    assert said_later == [("Dry hops", NOON + days(5)), ("Cool the bottles", NOON + days(10))]


def test_a_prompt_before_the_end_of_a_shortened_stage_is_asked_at_its_entry() -> None:
    short = amend(PRIMARY, begin(PRIMARY, NOON, NOON), 1, lasts_s=3600, now=NOON)

    assert [(due.say, due.at) for due in dues(PRIMARY, short, NOON)] == [("Cool the bottles", NOON)]


def test_a_stage_that_waits_is_due_at_its_length_and_overdue_later() -> None:
    course = begin(PRIMARY, NOON, NOON)

    def kinds_at(after_d: float) -> list[DueKind]:
        return [due.kind for due in dues(PRIMARY, course, NOON + days(after_d)) if due.kind != "prompt"]

    assert kinds_at(9.99) == []
    assert kinds_at(10) == [DueKind.STAGE_DUE]
    assert kinds_at(10.99) == [DueKind.STAGE_DUE]
    assert kinds_at(11) == [DueKind.STAGE_DUE, DueKind.STAGE_OVERDUE]


@pytest.mark.parametrize(
    "kind, members, words",
    [
        ("primary", {"ends": "brewer"}, "When it is done, go on to 'crash'"),
        ("primary", {"ends": "share", "share": 0.75}, "when 75% has fermented, go on to 'crash'"),
        ("primary", {"ends": "steady-gravity"}, "when two readings agree, go on to 'crash'"),
        ("chill", {"ends": "reached"}, "not reached yet"),
    ],
)
def test_what_is_asked_says_what_the_stage_waits_for(
    kind: str, members: dict[str, object], words: str
) -> None:
    waiting = plan(stage_json(kind, lasts_s=7200, **members), stage_json("crash"))

    (due,) = dues(waiting, begin(waiting, NOON, NOON), NOON + hours(2))

    assert due.say.startswith(f"'{kind}' has lasted the 2 h planned for it. ")
    assert words in due.say


def test_the_last_stage_asks_for_the_end_of_the_batch() -> None:
    last = plan(stage_json("hold", lasts_s=60))

    (due,) = dues(last, begin(last, NOON, NOON), NOON + minutes(1))

    assert "end the batch" in due.say


def test_a_stage_that_ends_by_time_or_has_no_length_asks_for_no_decision() -> None:
    open_ended = plan(stage_json("hold"))

    assert stage("mash", lasts_s=60, ends="time").ends == "time"
    assert dues(MASH, begin(MASH, NOON, NOON), NOON + minutes(30)) == dues(
        MASH, begin(MASH, NOON, NOON), NOON + minutes(10)
    )
    assert dues(open_ended, begin(open_ended, NOON, NOON), NOON + days(99)) == []


def test_a_prompt_at_the_very_end_is_not_lost_when_the_stage_has_elapsed() -> None:
    now = NOON + minutes(10) + seconds(7)
    course = elapse(MASH, begin(MASH, NOON, NOON), now)

    assert dues(MASH, course, now) == []
    (due,) = dues(MASH, course, now, since=now - seconds(10))
    assert (due.say, due.stage, due.n, due.at) == ("Stir", "mash", 1, NOON + minutes(10))
    assert dues(MASH, course, now, since=NOON + minutes(10)) == []


def test_a_prompt_is_not_asked_when_its_stage_was_left_before() -> None:
    course = advance(PRIMARY, begin(PRIMARY, NOON, NOON), "crash", NOON + days(4), NOON + days(4))

    asked = [due.stage for due in dues(PRIMARY, course, NOON + days(30), since=NOON)]

    assert "primary" not in asked


def test_a_batch_that_has_ended_asks_nothing() -> None:
    course = advance(PRIMARY, begin(PRIMARY, NOON, NOON), END, NOON + days(6), NOON + days(6))

    assert dues(PRIMARY, course, NOON + days(30)) == []


def test_the_oldest_is_asked_first() -> None:
    backwards = plan(
        stage_json("hold", prompts=[{"say": "Later", "at_s": 120}, {"say": "Sooner", "at_s": 60}]),
    )

    found = dues(backwards, begin(backwards, NOON, NOON), NOON + minutes(5))

    assert [due.say for due in found] == ["Sooner", "Later"]


def test_a_late_addition_to_the_boil_is_asked_ten_minutes_before_its_end() -> None:
    course = begin(BREW_DAY, NOON, NOON + minutes(110))

    assert [(due.say, due.at) for due in dues(BREW_DAY, course, NOON + minutes(110))] == [
        ("Late hops", NOON + minutes(110))
    ]


SHARED = plan(stage_json("primary", lasts_s=864000, ends="share", share=0.75), stage_json("crash"))


def test_a_stage_that_ends_by_share_asks_when_the_estimate_has_it_and_stays() -> None:
    course = begin(SHARED, NOON, NOON)
    reached = ShareReached(0.75, NOON + days(4))

    (due,) = dues(SHARED, course, NOON + days(5), reached=reached)

    assert (due.kind, due.at) == (DueKind.STAGE_DUE, NOON + days(4))
    assert "75% has fermented, by the estimate" in due.say
    assert "Take a reading" in due.say
    assert elapse(SHARED, course, NOON + days(30)) == course


@pytest.mark.parametrize(
    ("reached", "when"),
    [
        (None, 10),
        (ShareReached(0.5, NOON + days(2)), 10),
        (ShareReached(0.75, NOON + days(12)), 10),
        (ShareReached(0.75, NOON - days(1)), 0),
    ],
)
def test_it_asks_by_the_earlier_of_its_own_share_and_its_time(
    reached: ShareReached | None, when: int
) -> None:
    course = begin(SHARED, NOON, NOON)

    asked = [d for d in dues(SHARED, course, NOON + days(13), reached=reached) if d.kind is DueKind.STAGE_DUE]

    assert [due.at for due in asked] == [NOON + days(when)]


def test_a_share_asks_nothing_of_a_stage_that_ends_otherwise() -> None:
    course = begin(PRIMARY, NOON, NOON)

    assert dues(PRIMARY, course, NOON + days(1), reached=ShareReached(0.75, NOON)) == []
