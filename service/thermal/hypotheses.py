"""The stories a batch is fitted with, each with its weight before anything is seen. Worker process only.

A fermentation that stops early either fades, so that its heat has the usual shape and is too small, or is
cut: its heat is as strong as ever until it falls within hours (yeast that drops out, a chill). Each is tried
at several shares, so that no share hides between two of them.
"""

import math
from dataclasses import dataclass

import numpy as np

from service.thermal.arrays import Floats

CUT_WIDTH = 0.02
"""Over about this share the pace falls when a fermentation is cut."""


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """A story about the batch: its prior weight and what it says of ln f, f the share it stops at.

    stops: f lies below nine tenths. cut: the pace falls at f instead of all heat being smaller by f.
    """

    name: str
    weight: float
    stop_mean: float = 0.0
    stop_sd: float = 0.02
    heat: bool = True
    stops: bool = False
    cut: bool = False


STOPPED = "stopped-early"
STOPS_AT = (0.77, 0.57, 0.4)
STOP_SD = 0.17
NORMAL = Hypothesis("normal", 0.94)
NONE = Hypothesis("not-started", 0.01, heat=False)
FADES_SOMEWHERE = Hypothesis(STOPPED, 0.025, math.log(0.6), 0.35, stops=True)
CUT_SOMEWHERE = Hypothesis(STOPPED, 0.025, math.log(0.6), 0.35, stops=True, cut=True)
FADES = tuple(Hypothesis(STOPPED, 0.025 / len(STOPS_AT), math.log(f), STOP_SD, stops=True) for f in STOPS_AT)
CUTS = tuple(
    Hypothesis(STOPPED, 0.025 / len(STOPS_AT), math.log(f), STOP_SD, stops=True, cut=True) for f in STOPS_AT
)


def capped(share: Floats, f: Floats | float) -> Floats:
    """A share that goes no farther than f: the curve before it, and a soft bend into it."""
    over = np.clip((share - f) / CUT_WIDTH, -60, 60)
    held: Floats = share - CUT_WIDTH * np.log1p(np.exp(over))
    return np.maximum(held, 0.0)


def uncapped(held: Floats, f: Floats) -> Floats:
    """The share whose capped value is `held` (below f)."""
    short = np.expm1(np.clip((f - held) / CUT_WIDTH, 1e-6, 60))
    share: Floats = f - CUT_WIDTH * np.log(short)
    return share
