"""Putting right when a step was entered or left, and giving a step more time."""

import math
from dataclasses import replace
from datetime import datetime

from service.errors import ConflictError, InvalidInputError, NotFoundError, Problem
from service.plans.model import Plan
from service.plans.moments import LONGEST_S, moment, said_length, said_time
from service.plans.passing import elapse, made_of, not_in_the_future
from service.plans.step import Course, How, Step, current, elapsed_at, first_pitching

_SHORTEST_S = 1.0


def amend(
    plan: Plan,
    course: Course,
    n: int,
    *,
    entered_at: datetime | None = None,
    left_at: datetime | None = None,
    lasts_s: float | None = None,
    now: datetime,
) -> Course:
    """The course with new times for its step `n`; None leaves a time as it is.

    The step before ends where this one begins, and the step after begins where this one ends. A step
    that ended by time still ends its length after its entry, wherever that has moved, and so do the
    steps by time after it; where that end has not come yet, the step runs again. pitched_at moves along
    if it was taken from the entry of primary.

    NotFoundError: no such step. InvalidInputError: nothing given, a time in the future or without
    offset, an impossible length, an overlap. ConflictError: a step that runs has no end to move; a step
    that was left by hand has no length to change.
    """
    now = moment(now, "/now")
    if not 1 <= n <= len(course.steps):
        raise NotFoundError(f"The batch has no step {n}; its steps are 1 to {len(course.steps)}.")
    steps = list(course.steps)
    step = steps[n - 1]
    _check_request(plan, step, entered_at, left_at, lasts_s)
    by_time = _left_by_time(plan, step) and left_at is None
    end_field = "/left_at" if left_at is not None else "/lasts_s" if lasts_s is not None else "/entered_at"

    if lasts_s is not None:
        step = replace(step, lasts_s=_length(lasts_s, "/lasts_s"))
    if entered_at is not None:
        step = replace(step, entered_at=not_in_the_future(entered_at, now, "/entered_at"), how=How.AMENDED)
        if n > 1:
            before = steps[n - 2]
            _in_order(before.entered_at, step.entered_at, before, step, "/entered_at")
            steps[n - 2] = replace(before, left_at=step.entered_at)
    if left_at is not None:
        step = replace(step, left_at=not_in_the_future(left_at, now, "/left_at"))
    elif by_time:
        step = replace(step, left_at=step.due_at)
    if step.left_at is not None and step.left_at < step.entered_at:
        raise _overlap(end_field, f"'{step.stage_key}' would be left before it is entered", step.left_at)
    steps[n - 1] = step
    steps = _moved_on(plan, steps, n - 1, now, end_field)
    taken_from_primary = course.pitched_at == first_pitching(plan, course.steps)
    pitched_at = None if taken_from_primary else course.pitched_at
    return elapse(plan, made_of(plan, tuple(steps), pitched_at), now)


def prolong(plan: Plan, course: Course, by_s: float, now: datetime) -> Course:
    """The course with `by_s` more for the present step: from its planned end, or from now if that is past.

    ConflictError: the batch has ended. InvalidInputError: not a length of time.
    """
    now = moment(now, "/now")
    step = current(course)
    if step is None:
        raise ConflictError("The batch has ended; there is no stage to prolong.")
    by_s = _length(by_s, "/by_s")
    due_at = max(step.due_at or now, now, step.entered_at)
    lasts_s = _length((due_at - step.entered_at).total_seconds() + by_s, "/by_s")
    return made_of(plan, (*course.steps[:-1], replace(step, lasts_s=lasts_s)), course.pitched_at)


def _check_request(
    plan: Plan, step: Step, entered_at: datetime | None, left_at: datetime | None, lasts_s: float | None
) -> None:
    if entered_at is None and left_at is None and lasts_s is None:
        raise InvalidInputError(Problem("", "nothing to change", "give entered_at, left_at or lasts_s"))
    if left_at is not None and lasts_s is not None:
        raise InvalidInputError(
            Problem("/lasts_s", "left_at and lasts_s both say when the step ends", "give one of them")
        )
    if left_at is not None and step.left_at is None:
        raise ConflictError(
            f"'{step.stage_key}' still runs and has no end to move. Advance the batch to end it."
        )
    if lasts_s is not None and step.left_at is not None and not _left_by_time(plan, step):
        raise ConflictError(
            f"'{step.stage_key}' was left by hand at {said_time(step.left_at)}; give left_at to move that."
        )


def _left_by_time(plan: Plan, step: Step) -> bool:
    return step.left_at is not None and step.left_at == elapsed_at(plan, step)


def _moved_on(plan: Plan, steps: list[Step], i: int, now: datetime, field: str) -> list[Step]:
    """The steps after step `i` moved with its end, as far as they hang on it."""
    original = list(steps)
    while (end := steps[i].left_at) is not None and i + 1 < len(steps):
        after = steps[i + 1]
        if after.entered_at == end:
            return steps
        by_time = _left_by_time(plan, original[i + 1])
        steps[i + 1] = replace(after, entered_at=end, how=How.AMENDED)
        if by_time:
            steps[i + 1] = replace(steps[i + 1], left_at=steps[i + 1].due_at)
        elif after.left_at is not None:
            _in_order(end, after.left_at, steps[i], after, field)
            return steps
        i += 1
    return _reopened(steps, now)


def _reopened(steps: list[Step], now: datetime) -> list[Step]:
    """Without the steps that have not been entered yet, the last one running if its end has not come yet."""
    entered = [step for step in steps if step.entered_at <= now]
    last = entered[-1]
    if last.left_at is not None and last.left_at > now:
        entered[-1] = replace(last, left_at=None)
    return entered


def _in_order(earlier: datetime, later: datetime, before: Step, after: Step, field: str) -> None:
    if later < earlier:
        raise _overlap(
            field,
            f"'{before.stage_key}' and '{after.stage_key}' would overlap: "
            f"{said_time(later)} is before {said_time(earlier)}",
            earlier,
        )


def _overlap(field: str, problem: str, limit: datetime) -> InvalidInputError:
    return InvalidInputError(
        Problem(
            field, problem, f"choose a time on the other side of {said_time(limit)}, or move that step first"
        )
    )


def _length(seconds: float, field: str) -> float:
    if not math.isfinite(seconds) or not _SHORTEST_S <= seconds <= LONGEST_S:
        raise InvalidInputError(
            Problem(
                field,
                f"{seconds:g} s is no length for a stage",
                f"give seconds, from {said_length(_SHORTEST_S)} to {said_length(LONGEST_S)}",
            )
        )
    return float(seconds)
