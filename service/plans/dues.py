"""What a plan asks of the brewer: its prompts, and stages that want a decision."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from service.plans.customary import prompts_of
from service.plans.model import Ends, Plan, Prompt, Stage
from service.plans.moments import moment, said_length
from service.plans.step import Course, Step, current, stage_of


class DueKind(StrEnum):
    """What is asked for."""

    PROMPT = "prompt"
    STAGE_DUE = "stage-due"
    STAGE_OVERDUE = "stage-overdue"


@dataclass(frozen=True, slots=True)
class Due:
    """One thing asked of the brewer since `at` (aware UTC).

    stage: its key; n: its step. prompt: which of the stage's prompts, from 0 (its plan's own, then
    those of custom), or None. (n, kind, prompt) names the same due whenever it is
    asked for, also after its stage was prolonged.
    """

    kind: DueKind
    stage: str
    say: str
    at: datetime
    n: int
    prompt: int | None = None


@dataclass(frozen=True, slots=True)
class ShareReached:
    """Which share has fermented by the estimate, and since when."""

    share: float
    at: datetime


def dues(
    plan: Plan,
    course: Course,
    now: datetime,
    since: datetime | None = None,
    reached: ShareReached | None = None,
) -> list[Due]:
    """What the present step asks at `now`, the oldest first.

    With `since`: what fell due after it and until `now`, in the present step, and the prompts of steps
    left meanwhile too, so that a prompt at the very end of a stage that elapses is not lost. A prompt
    whose stage was left before it came is not due. Stages that end by time never ask for a decision.

    reached: what the estimate says has fermented. A stage that ends by just that share asks from then on, or
    when its time is over, whichever comes first; it never goes on by itself.
    """
    now = moment(now, "/now")
    here = current(course)
    steps = course.steps if since is not None else () if here is None else (here,)
    found = [due for step in steps for due in _dues_of(plan, step, step is here, reached)]
    return sorted(
        (due for due in found if due.at <= now and (since is None or due.at > since)), key=lambda due: due.at
    )


def _dues_of(plan: Plan, step: Step, asks: bool, reached: ShareReached | None) -> list[Due]:
    stage = stage_of(plan, step)
    found = []
    for i, prompt in enumerate(prompts_of(stage)):
        at = _prompt_at(step, prompt)
        if at is not None and (step.left_at is None or at <= step.left_at):
            found.append(Due(DueKind.PROMPT, stage.key, prompt.say, at, step.n, i))
    early = _by_share(plan, stage, step, reached) if asks else None
    if early is not None:
        found.append(early)
    if asks and stage.ends is not Ends.TIME and step.due_at is not None and step.lasts_s is not None:
        overdue_at = step.due_at + timedelta(seconds=stage.overdue_after_s)
        lasted = f"'{stage.key}' has lasted the {said_length(step.lasts_s)} planned for it"
        if early is None:
            words = f"{lasted}. {_ask(plan, stage)}"
            found.append(Due(DueKind.STAGE_DUE, stage.key, words, step.due_at, step.n))
        found.append(
            Due(
                DueKind.STAGE_OVERDUE,
                stage.key,
                f"{lasted} and {said_length(stage.overdue_after_s)} more. {_ask(plan, stage)}",
                overdue_at,
                step.n,
            )
        )
    return found


def _by_share(plan: Plan, stage: Stage, step: Step, reached: ShareReached | None) -> Due | None:
    if stage.ends is not Ends.SHARE or reached is None or reached.share != stage.share:
        return None
    at = max(step.entered_at, reached.at)
    if step.due_at is not None and step.due_at <= at:
        return None
    words = f"About {reached.share:.0%} has fermented, by the estimate. {_ask(plan, stage)}"
    return Due(DueKind.STAGE_DUE, stage.key, words, at, step.n)


def _prompt_at(step: Step, prompt: Prompt) -> datetime | None:
    if prompt.at_s is not None:
        return step.entered_at + timedelta(seconds=prompt.at_s)
    if prompt.before_end_s is None or step.due_at is None:
        return None
    return max(step.entered_at, step.due_at - timedelta(seconds=prompt.before_end_s))


def _ask(plan: Plan, stage: Stage) -> str:
    following = plan.index(stage.key) + 1
    go_on = f"go on to '{plan.stages[following].key}'" if following < len(plan.stages) else "end the batch"
    match stage.ends:
        case Ends.SHARE:
            return (
                f"Take a reading; when {stage.share or 0.0:.0%} has fermented, {go_on}, or prolong the stage."
            )
        case Ends.STEADY_GRAVITY:
            return f"Take a reading; when two readings agree, {go_on}, or prolong the stage."
        case Ends.REACHED:
            return f"Its band is not reached yet. When that will do, {go_on}, or prolong the stage."
        case _:
            return f"When it is done, {go_on}, or prolong the stage."
