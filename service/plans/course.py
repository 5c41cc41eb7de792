"""How a batch goes through its plan: begin, elapse, reach, advance. Each call returns a new course.

Times are aware; `now` is passed in. What a brewer gets wrong in a request is an InvalidInputError that
names the member, what the present state does not allow a ConflictError. Undoing is going back to an
earlier course, which the caller has kept.
"""

from datetime import datetime, timedelta

from service.errors import ConflictError, InvalidInputError, Problem
from service.plans.amending import amend, prolong
from service.plans.bounds import KEY_OF_THE_END
from service.plans.course_json import course_from_json, course_to_json
from service.plans.dues import Due, DueKind, dues
from service.plans.model import Ends, Plan
from service.plans.moments import moment, said_time
from service.plans.passing import elapse, enter, leave, made_of, not_in_the_future
from service.plans.spans import BandSpan, bands_between
from service.plans.step import Course, CourseState, How, Step, current, stage_of, step_at

__all__ = [
    "END",
    "BandSpan",
    "Course",
    "CourseState",
    "Due",
    "DueKind",
    "How",
    "Step",
    "advance",
    "amend",
    "bands_between",
    "begin",
    "course_from_json",
    "course_to_json",
    "current",
    "dues",
    "elapse",
    "prolong",
    "reached",
    "stage_of",
    "step_at",
]

END = KEY_OF_THE_END
"""Where `advance` goes to end the batch; no stage has this key."""

_LONGEST_AGO = timedelta(days=3653)


def begin(plan: Plan, started_at: datetime, now: datetime, pitched_at: datetime | None = None) -> Course:
    """The course of a batch that entered the first stage at `started_at`, as it stands at `now`.

    A start in the past is taken through the stages that end by time. Without `pitched_at`, entering
    primary sets it. InvalidInputError: a time without offset, in the future, or over ten years ago.
    """
    now = moment(now, "/now")
    started_at = not_in_the_future(started_at, now, "/started_at")
    if now - started_at > _LONGEST_AGO:
        raise InvalidInputError(
            Problem("/started_at", f"{said_time(started_at)} is over ten years ago", "check the year")
        )
    pitched_at = None if pitched_at is None else not_in_the_future(pitched_at, now, "/pitched_at")
    return elapse(
        plan, made_of(plan, enter(plan, (), plan.stages[0].key, started_at, How.START), pitched_at), now
    )


def reached(plan: Plan, course: Course, at: datetime) -> Course:
    """The next stage entered at `at`, the present one having reached its band; after the last, the end.

    ConflictError: the present stage does not end that way. InvalidInputError: it was entered after `at`.
    """
    at = moment(at, "/at")
    step = _running(course)
    stage = stage_of(plan, step)
    if stage.ends is not Ends.REACHED:
        raise ConflictError(f"Stage '{stage.key}' ends by {stage.ends}, not by reaching its band.")
    _not_before_entry(step, at)
    steps = leave(course.steps, at)
    following = plan.index(stage.key) + 1
    if following < len(plan.stages):
        steps = enter(plan, steps, plan.stages[following].key, at, How.REACHED)
    return made_of(plan, steps, course.pitched_at)


def advance(plan: Plan, course: Course, to: str, at: datetime, now: datetime) -> Course:
    """The course with the stage `to` entered, or the batch ended (`END`), at `at`.

    `at` may be past, as far back as the entry of the present stage; what has elapsed since is taken
    into account. Stages may be passed over, and an earlier stage entered again, since a batch that was
    crashed too soon really does go back to its primary. InvalidInputError: no such stage, a time in
    the future or before the present stage. ConflictError: the batch has ended or is in that stage.
    """
    now = moment(now, "/now")
    at = not_in_the_future(at, now, "/at")
    course = elapse(plan, course, now)
    step = _running(course)
    if to != END and plan.stage(to) is None:
        keys = ", ".join(f"'{stage.key}'" for stage in plan.stages)
        raise InvalidInputError(
            Problem("/to", f"the plan has no stage '{to}'", f"take one of {keys}, or '{END}'")
        )
    if to == step.stage_key:
        since = said_time(step.entered_at)
        raise ConflictError(
            f"The batch is in '{to}' already, since {since}. Give step {step.n} another time instead."
        )
    _not_before_entry(step, at)
    steps = leave(course.steps, at)
    if to != END:
        steps = enter(plan, steps, to, at, How.ADVANCE)
    return elapse(plan, made_of(plan, steps, course.pitched_at), now)


def _running(course: Course) -> Step:
    step = current(course)
    if step is None:
        ended = "" if course.ended_at is None else f" at {said_time(course.ended_at)}"
        raise ConflictError(f"The batch ended{ended}. Undo its end to go on with it.")
    return step


def _not_before_entry(step: Step, at: datetime) -> None:
    if at < step.entered_at:
        raise InvalidInputError(
            Problem(
                "/at",
                f"{said_time(at)} is before '{step.stage_key}' was entered, at {said_time(step.entered_at)}",
                f"give a later time, or first put right when '{step.stage_key}' was entered",
            )
        )
