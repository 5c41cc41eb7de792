"""What a plan is once it has been read: every default filled in, nothing left to check."""

from dataclasses import dataclass
from enum import StrEnum

from service.plans.kinds import StageKind, StagePriority


class Ends(StrEnum):
    """What ends a stage."""

    TIME = "time"
    """It elapses by itself, `lasts_s` after it was entered."""
    BREWER = "brewer"
    """The brewer says so; from `lasts_s` on the brewer is asked."""
    REACHED = "reached"
    """The liquid has been inside the band for a minute."""
    SHARE = "share"
    """An estimated share has fermented; the brewer is asked, and says so."""
    STEADY_GRAVITY = "steady-gravity"
    """Direct readings agree; the brewer is asked, and says so."""


@dataclass(frozen=True, slots=True)
class Ramp:
    """A target that moves in a straight line from `from_c` to `to_c` in the first `over_s` of its stage."""

    from_c: float
    to_c: float
    over_s: float


@dataclass(frozen=True, slots=True)
class Prompt:
    """A hand is wanted: `at_s` after the stage was entered, or `before_end_s`; exactly one is given."""

    say: str
    at_s: float | None = None
    before_end_s: float | None = None


@dataclass(frozen=True, slots=True)
class Stage:
    """One stage of a plan.

    target_c: None where the kind needs none (a boil then aims at the boiling point).
    low_c, high_c: limits in C, or distances from the (moving) target when `relative`; None: the limit
    the kind has by itself. `service.plans.band` turns all this into the band at a time.
    lasts_s: planned length; always there when it ends by time. share: 0 to 1, there when it ends by share.
    The rest is as in `KindDefaults`, deadband_c being 0 where the kind has none.
    """

    key: str
    kind: StageKind
    target_c: float | Ramp | None
    low_c: float | None
    high_c: float | None
    relative: bool
    lasts_s: float | None
    ends: Ends
    share: float | None
    reach_within_s: float | None
    alarm_after_s: float | None
    clear_after_s: float | None
    deadband_c: float
    warm_priority: StagePriority | None
    cold_priority: StagePriority | None
    overdue_after_s: float
    prompts: tuple[Prompt, ...] = ()


@dataclass(frozen=True, slots=True)
class Plan:
    """A named list of stages, in the order in which they are meant to be passed; keys are unique."""

    name: str
    stages: tuple[Stage, ...]

    def stage(self, key: str) -> Stage | None:
        """The stage with this key, or None."""
        return next((stage for stage in self.stages if stage.key == key), None)

    def index(self, key: str) -> int:
        """Where the stage with this key stands in the plan, from 0. ValueError: there is none."""
        return [stage.key for stage in self.stages].index(key)
