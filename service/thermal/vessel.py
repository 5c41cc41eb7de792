"""What batches teach of a vessel, and when it has changed. Plain Python."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from service.thermal.inputs import VesselPrior

BETWEEN_BATCHES_LN = 0.12
"""Even the same bucket in the same corner differs this much from batch to batch (place, filling, draught)."""


@dataclass(frozen=True, slots=True)
class Lesson:
    """One ended batch's time constant, the spread of its logarithm, and the volume it was learned at."""

    tau_h: float
    spread_ln: float
    volume_l: float


def learned(lessons: Sequence[Lesson], volume_l: float) -> VesselPrior | None:
    """The next batch's prior from earlier ones, moved to its volume (tau goes with the cube root)."""
    usable = [s for s in lessons if s.tau_h > 0 and s.volume_l > 0]
    if not usable:
        return None
    weights = [1 / (s.spread_ln**2 + BETWEEN_BATCHES_LN**2) for s in usable]
    logs = [math.log(s.tau_h * (volume_l / s.volume_l) ** (1 / 3)) for s in usable]
    mean = sum(w * x for w, x in zip(weights, logs, strict=True)) / sum(weights)
    return VesselPrior(math.exp(mean), math.sqrt(1 / sum(weights) + BETWEEN_BATCHES_LN**2), len(usable))


def changed(prior: VesselPrior, tau_h: float, spread_ln: float) -> str | None:
    """A sentence when this batch loses heat clearly unlike the earlier ones."""
    apart = math.log(tau_h / prior.tau_h)
    if abs(apart) < 2.2 * math.hypot(prior.spread_ln, spread_ln):
        return None
    figures = f"time constant {tau_h:.1f} h, was {prior.tau_h:.1f} h"
    if apart > 0:
        return f"The vessel loses heat more slowly than before ({figures}): wrapped?"
    return f"The vessel loses heat faster than before ({figures}): moved, open, a fan?"
