"""From step to step: entering, leaving, and what time alone does."""

from dataclasses import replace
from datetime import datetime

from service.errors import InvalidInputError, Problem
from service.plans.model import Plan
from service.plans.moments import moment, said_time
from service.plans.step import Course, How, Step, current, elapsed_at, first_pitching, state_of

Steps = tuple[Step, ...]


def not_in_the_future(at: datetime, now: datetime, field: str) -> datetime:
    """The time in UTC. InvalidInputError at `field`: it has no offset, or has not come yet."""
    at = moment(at, field)
    if at > now:
        raise InvalidInputError(
            Problem(
                field,
                f"{said_time(at)} is in the future; it is {said_time(now)} now",
                "give a time that has passed, or none for now",
            )
        )
    return at


def enter(plan: Plan, steps: Steps, key: str, at: datetime, how: How) -> Steps:
    """The steps with one more, in the stage `key`."""
    stage = plan.stages[plan.index(key)]
    return (*steps, Step(len(steps) + 1, key, at, None, stage.lasts_s, how))


def leave(steps: Steps, at: datetime) -> Steps:
    """The steps with the last one left."""
    return (*steps[:-1], replace(steps[-1], left_at=at))


def made_of(plan: Plan, steps: Steps, pitched_at: datetime | None) -> Course:
    """The course that consists of these steps; entering primary is pitching unless said."""
    pitched_at = first_pitching(plan, steps) if pitched_at is None else pitched_at
    return Course(steps, state_of(plan, steps), pitched_at, steps[-1].left_at)


def elapse(plan: Plan, course: Course, now: datetime) -> Course:
    """The course after every stage that ends by time and is over at `now` has ended, each at its own time.

    After the last stage of the plan the batch ends. The same course when nothing is over.
    """
    now = moment(now, "/now")
    while (step := current(course)) is not None:
        over_at = elapsed_at(plan, step)
        if over_at is None or over_at > now:
            break
        steps = leave(course.steps, over_at)
        following = plan.index(step.stage_key) + 1
        if following < len(plan.stages):
            steps = enter(plan, steps, plan.stages[following].key, over_at, How.TIME)
        course = made_of(plan, steps, course.pitched_at)
    return course
