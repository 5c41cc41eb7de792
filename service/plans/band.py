"""Where the liquid should be at a time: target and limits of a stage, ramps and relative bands included."""

from dataclasses import dataclass
from datetime import datetime

from service.plans.kinds import KINDS, BandRule, StageKind
from service.plans.model import Ramp, Stage

SEA_LEVEL_BOILING_C = 100.0
"""Water at 1013.25 hPa; wort boils within about half a degree of it."""

_FREEZING_C = 0.0


@dataclass(frozen=True, slots=True)
class Band:
    """Target and limits in C; None: there is none. The limits belong to the band."""

    target_c: float | None
    low_c: float | None
    high_c: float | None

    def holds(self, temp_c: float) -> bool:
        """Whether a temperature is inside the band."""
        return (self.low_c is None or temp_c >= self.low_c) and (self.high_c is None or temp_c <= self.high_c)


def target_at(
    stage: Stage, entered_at: datetime, at: datetime, boiling_c: float = SEA_LEVEL_BOILING_C
) -> float | None:
    """The target of a stage that was entered at `entered_at`, at the time `at`, in C.

    Before its entry a ramp stands at its beginning, after its end at its end. A boil without a target
    aims at `boiling_c`, the boiling point here.
    """
    target = stage.target_c
    if isinstance(target, Ramp):
        gone_s = (at - entered_at).total_seconds()
        if gone_s >= target.over_s:
            return target.to_c
        share = max(gone_s, 0.0) / target.over_s
        return target.from_c + (target.to_c - target.from_c) * share
    if target is None and stage.kind is StageKind.BOIL:
        return boiling_c
    return target


def band_around(stage: Stage, target_c: float | None, boiling_c: float = SEA_LEVEL_BOILING_C) -> Band:
    """The band of a stage while its target is `target_c`: its own limits first, then its kind's."""
    low_c, high_c = _limits_of_kind(stage.kind, target_c, boiling_c)
    if stage.relative:
        if stage.low_c is not None and target_c is not None:
            low_c = target_c + stage.low_c
        if stage.high_c is not None and target_c is not None:
            high_c = target_c + stage.high_c
    else:
        low_c = low_c if stage.low_c is None else stage.low_c
        high_c = high_c if stage.high_c is None else stage.high_c
    return Band(target_c, low_c, high_c)


def band_at(stage: Stage, entered_at: datetime, at: datetime, boiling_c: float = SEA_LEVEL_BOILING_C) -> Band:
    """The band at the time `at` of a stage that was entered at `entered_at`."""
    return band_around(stage, target_at(stage, entered_at, at, boiling_c), boiling_c)


def _limits_of_kind(
    kind: StageKind, target_c: float | None, boiling_c: float
) -> tuple[float | None, float | None]:
    defaults = KINDS[kind]
    if defaults.band is BandRule.NEAR_BOILING:
        return boiling_c - defaults.below_c, None
    if target_c is None:
        return None, None
    match defaults.band:
        case BandRule.AROUND_TARGET:
            return target_c - defaults.below_c, target_c + defaults.above_c
        case BandRule.UP_TO_TARGET:
            return None, target_c
        case BandRule.COLD:
            return _FREEZING_C, target_c + defaults.above_c
        case _:
            return None, None
