"""The way of one batch through its plan, as dated steps, and where in it a time falls."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from service.errors import ConflictError
from service.plans.kinds import StageKind
from service.plans.model import Ends, Plan, Stage


class How(StrEnum):
    """How a step was entered."""

    START = "start"
    TIME = "time"
    """The stage before it elapsed."""
    ADVANCE = "advance"
    """Somebody said so."""
    REACHED = "reached"
    """The stage before it reached its band."""
    AMENDED = "amended"
    """Its time was put right by hand."""


class CourseState(StrEnum):
    """What a batch is doing; conditioning from its first conditioning stage on."""

    RUNNING = "running"
    CONDITIONING = "conditioning"
    ENDED = "ended"


@dataclass(frozen=True, slots=True)
class Step:
    """One stage as it was really passed; a stage entered twice makes two steps.

    n: from 1, in order of time. entered_at, left_at: aware UTC; left_at is None while it runs.
    lasts_s: planned length, as prolonged since.
    """

    n: int
    stage_key: str
    entered_at: datetime
    left_at: datetime | None
    lasts_s: float | None
    how: How

    @property
    def due_at(self) -> datetime | None:
        """When its planned length is over, or None without one."""
        return None if self.lasts_s is None else self.entered_at + timedelta(seconds=self.lasts_s)


@dataclass(frozen=True, slots=True)
class Course:
    """The steps of a batch, without gap or overlap; every step but the last has been left.

    pitched_at: when yeast went in; ended_at: when the last step was left. Aware UTC or None.
    """

    steps: tuple[Step, ...]
    state: CourseState
    pitched_at: datetime | None
    ended_at: datetime | None


def current(course: Course) -> Step | None:
    """The step the batch is in, or None once it has ended."""
    return course.steps[-1] if course.steps and course.steps[-1].left_at is None else None


def stage_of(plan: Plan, step: Step) -> Stage:
    """The stage of a step. ConflictError: this plan is not the one the step was made with."""
    stage = plan.stage(step.stage_key)
    if stage is None:
        raise ConflictError(
            f"The plan '{plan.name}' has no stage '{step.stage_key}'; the batch needs its own plan."
        )
    return stage


def step_at(course: Course, at: datetime) -> Step | None:
    """The step the batch was in at a time; None before its start and from its end on."""
    if course.ended_at is not None and at >= course.ended_at:
        return None
    return next((step for step in reversed(course.steps) if step.entered_at <= at), None)


def elapsed_at(plan: Plan, step: Step) -> datetime | None:
    """When a step ends by itself, or None when it waits for something else than time."""
    return step.due_at if stage_of(plan, step).ends is Ends.TIME else None


def first_pitching(plan: Plan, steps: Sequence[Step]) -> datetime | None:
    """When a primary fermentation was first entered, or None."""
    return next((s.entered_at for s in steps if stage_of(plan, s).kind is StageKind.PRIMARY), None)


def state_of(plan: Plan, steps: Sequence[Step]) -> CourseState:
    """The state that these steps amount to.

    Conditioning lasts through the stages that follow it in the plan, and is over when the brewer goes
    back to a stage that comes before it.
    """
    last = steps[-1]
    if last.left_at is not None:
        return CourseState.ENDED
    here = plan.index(last.stage_key)
    conditioned = any(
        stage_of(plan, step).kind is StageKind.CONDITION and plan.index(step.stage_key) <= here
        for step in steps
    )
    return CourseState.CONDITIONING if conditioned else CourseState.RUNNING
