"""The share fermented against warped time: a Richards curve with bends, and a slow tail. Worker only.

Parameters of a shape, in this order: ln M, ln B, ln nu of the Richards curve; six knots by which its
density bends; the fall of pace when the glucose is used up and the share at which that happens (yeast takes
the simple sugars first; growth kinetics such as those of Gee and Ramirez show a kink there); ln of the share
that follows late, as first-order uptake of what is left does, and ln of the hours it takes. Everything takes
many shapes at once (one per row).
"""

import math

import numpy as np

from service.thermal.arrays import Floats
from service.thermal.beer import usual_pace

KNOTS = np.array([0.08, 0.3, 0.6, 0.82, 0.93, 0.985])
SHAPE_MEAN = np.array(
    [math.log(38), math.log(0.1), math.log(0.8), 0, 0, 0, 0, 0, 0, 0.2, 0.27, math.log(0.3), math.log(40)],
    dtype=np.float64,
)
SHAPE_SD = np.array([0.5, 0.7, 1.0, 0.25, 0.25, 0.25, 0.3, 0.5, 0.7, 0.3, 0.08, 1.0, 0.6])
N_SHAPE = 13
KINK_WIDTH = 0.015
LAG_Z, LAG_SHARE = 8.0, 0.03
"""Hardly any yeast has fermented a thirtieth within 8 hours at 20 C."""

_LOW, _HIGH, _POINTS = -9.0, 11.0, 200
_U = np.linspace(_LOW, _HIGH, _POINTS)
_STEP = float(_U[1] - _U[0])


def warped(beer_c: Floats, step_h: float) -> Floats:
    """Hours at 20 C that do as much, at the middle of each bin."""
    pace = np.array([usual_pace(t) for t in beer_c.tolist()])
    ahead = np.cumsum(pace) * step_h
    middle: Floats = ahead - pace * step_h / 2
    return middle


class Curves:
    """Tabulated shares for rows of shape parameters."""

    def __init__(self, shapes: Floats) -> None:
        self.middle = np.exp(np.clip(shapes[:, 0], math.log(2), math.log(2000)))
        self.speed = np.exp(np.clip(shapes[:, 1], math.log(0.002), math.log(2.0)))
        bow = np.exp(np.clip(shapes[:, 2], math.log(0.02), math.log(30)))[:, None]
        decay = np.exp(-_U)[None, :]
        base = 1 + bow * decay
        share = base ** (-1 / bow)
        bend = _bend(share, shapes[:, 3:9]) - shapes[:, 9:10] / (
            1 + np.exp(np.clip((shapes[:, 10:11] - share) / KINK_WIDTH, -40, 40))
        )
        density = share * decay / base * np.exp(np.clip(bend, -6, 6))
        table = np.zeros_like(density)
        table[:, 1:] = np.cumsum((density[:, 1:] + density[:, :-1]) / 2, axis=1)
        table /= table[:, -1:]
        self._late = np.exp(np.clip(shapes[:, 11:12], -7, math.log(0.6)))
        self._memory = np.exp(np.clip(shapes[:, 12:13], math.log(3), math.log(200)))
        # A first-order lag behind the curve, as a running sum with growing weights.
        rate = np.minimum(2.0, _STEP / self.speed[:, None] / self._memory)
        grown = np.exp(rate * np.arange(_POINTS))
        followed = (1 - np.exp(-rate)) * np.cumsum(table * grown, axis=1) / grown
        self._table = table + self._late * (followed - table)
        self._flat = self._table.ravel()
        self._first = _POINTS * np.arange(len(table))[:, None]
        start = self._look(-self.middle[:, None] * self.speed[:, None])
        self._start = np.minimum(start, 0.98)

    def _look(self, u: Floats) -> Floats:
        place = np.clip((u - _LOW) / _STEP, 0, _POINTS - 1.000001)
        whole = place.astype(np.int64)
        part = place - whole
        flat = whole + self._first
        low, high = self._flat[flat], self._flat[flat + 1]
        looked: Floats = low + part * (high - low)
        beyond = np.maximum(0.0, u - _HIGH) / (self.speed[:, None] * self._memory)
        shares: Floats = 1 - (1 - looked) * np.exp(-beyond)
        return shares

    def at(self, z: Floats) -> Floats:
        """Shares at warped hours z: one row per shape. z is one list for all, or one row per shape."""
        at = z if z.ndim == 2 else z[None, :]
        share: Floats = self._look(self.speed[:, None] * (at - self.middle[:, None]))
        since_start: Floats = (share - self._start) / (1 - self._start)
        return since_start

    def reached(self, share: Floats) -> Floats:
        """Warped hour at which each shape reaches its share (one per row)."""
        wanted = self._start[:, 0] + share * (1 - self._start[:, 0])
        out = np.empty(len(wanted))
        for row, value in enumerate(wanted.tolist()):
            out[row] = np.interp(value, self._table[row], _U)
        last = self._table[:, -1]
        beyond = np.log(np.maximum(1e-12, 1 - last) / np.maximum(1e-12, 1 - np.minimum(wanted, 1 - 1e-9)))
        later = np.where(wanted > last, np.maximum(0.0, beyond) * self._memory[:, 0], 0.0)
        reached: Floats = self.middle + out / self.speed + later
        return reached


def _bend(share: Floats, c: Floats) -> Floats:
    bent = np.empty_like(share)
    for row in range(len(share)):
        bent[row] = np.interp(share[row], KNOTS, c[row])
    return bent
