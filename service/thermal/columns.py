"""The heat balance as columns: every thermal unknown is the coefficient of something measured. Worker only.

Integrated heat balance, with y the beer, a the air, d = y - a, K the usual loss in 1/h:
y = level + settling + s (a - a0) - loss K int d
    + K int (offset + walls (a6 - a) + floor (a30 - a) + drift) + heat.
"""

import math
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from service.thermal import beer
from service.thermal.arrays import Floats, integral, lowpassed
from service.thermal.bins import Bins
from service.thermal.inputs import EstimateInput, Mounting, Near

START_H = 2.0
"""Earlier the wall, the lid and the probe are still settling."""

LEVEL, SETTLE, SEEN, LOSS, OFFSET = range(5)
LEAST_LOSS_LN = math.log(0.2)
DRIFT_SD_K, DRIFT_MEMORY_H, DRIFT_KNOT_H = 0.07, 24.0, 12.0

HEATER_STEP_H, HEATER_LAG_H = 0.02, 0.15
HEATER_SHARE = 0.8
"""Of a pad's or belt's watts that reach the beer; the rest warms the room (estimate)."""

USUAL_PAD_W, USUAL_PAD_SPREAD, TOLD_HEATER_SPREAD = 25.0, 0.35, 0.2

BEND_PRIOR = (0.10, 0.08)
WALL_PRIOR = {"plastic": (0.0, 0.28), "glass": (0.0, 0.28), "steel": (-0.45, 0.35)}
"""ln of the loss relative to the usual: shiny steel radiates little, half of plastic's loss (estimate)."""

SEEN_PRIOR = {
    Mounting.THERMOWELL: (0.015, 0.012),
    Mounting.IMMERSED: (0.005, 0.01),
    Mounting.LAGGED: (0.05, 0.025),
    Mounting.BARE: (0.25, 0.08),
    None: (0.04, 0.05),
}


@dataclass(frozen=True, slots=True)
class Columns:
    """The linear part: one column per unknown, on the rows kept, with prior means and spreads.

    The column LOSS belongs to exp(coefficient). keep: which bins are rows. tau_h: the usual time constant.
    """

    matrix: Floats
    mean: Floats
    sd: Floats
    keep: slice
    tau_h: float
    names: tuple[str, ...]


def _drift(hours: Floats, step_h: float, end_h: float) -> Floats:
    """Integrals of hat functions through the Cholesky factor of an Ornstein-Uhlenbeck covariance."""
    knots = np.arange(0.0, end_h + DRIFT_KNOT_H, DRIFT_KNOT_H)
    hats = np.maximum(0.0, 1 - np.abs(hours[:, None] - knots[None, :]) / DRIFT_KNOT_H)
    apart = np.abs(knots[:, None] - knots[None, :])
    factor = np.linalg.cholesky(np.exp(-apart / DRIFT_MEMORY_H) + 1e-9 * np.eye(len(knots)))
    drift: Floats = integral(hats @ factor, step_h) * DRIFT_SD_K
    return drift


def loss_prior(given: EstimateInput, volume_l: float) -> tuple[float, float, float]:
    """Usual time constant in hours, and mean and spread of the logarithm of the loss relative to it."""
    tau = beer.usual_time_constant_h(volume_l)
    mean, sd = WALL_PRIOR.get(given.wall or "", (0.0, 0.35))
    if Near.INSULATION in given.near:
        tau, sd = tau * 2.5, 0.5
    if given.vessel is not None and given.vessel.tau_h > 0:
        mean = math.log(tau / given.vessel.tau_h)
        sd = min(sd, math.hypot(given.vessel.spread_ln, 0.1))
    return tau, mean, sd


def thermal_columns(bins: Bins, given: EstimateInput, volume_l: float) -> Columns:
    """Columns for the rows from two hours after pitching on. Raises nothing; needs four bins there."""
    assert given.pitched_at is not None
    first = int(np.searchsorted(bins.hours, START_H))
    rows = slice(first, None)
    t, y, a = bins.hours[rows], bins.beer[rows], bins.air[rows]
    step = bins.step_h
    tau, loss_mean, loss_sd = loss_prior(given, volume_l)
    k = 1 / tau
    d = y - a
    settle = np.exp(-(t - t[0]) / 2.0)
    held = t - t[0]
    walls = k * integral(bins.six[rows] - a, step)
    floor = k * integral(bins.thirty[rows] - a, step)
    seen = SEEN_PRIOR[given.mounting]
    parts: list[tuple[str, Floats, float, float]] = [
        ("level", np.ones_like(t), float(y[0]), 0.3),
        ("settle", settle, 0.0, 0.25),
        ("seen", a - a[0], *seen),
        ("loss", -k * integral(d, step), loss_mean, loss_sd),
        ("offset", k * held, -0.2, 0.45),
        ("bend", -k * integral(d * np.log((np.abs(d) + 0.2) / 2.5), step), *BEND_PRIOR),
        ("walls", walls, 0.22, 0.18),
        ("floor", floor, 0.15, 0.14),
    ]
    parts += _told(given, t, d, step, k, volume_l)
    drift = k * _drift(t - t[0], step, float(t[-1] - t[0]))
    parts += [("drift", drift[:, j], 0.0, 1.0) for j in range(drift.shape[1])]
    return Columns(
        matrix=np.column_stack([p[1] for p in parts]),
        mean=np.array([p[2] for p in parts]),
        sd=np.array([p[3] for p in parts]),
        keep=rows,
        tau_h=tau,
        names=tuple(p[0] for p in parts),
    )


def _told(
    given: EstimateInput, t: Floats, d: Floats, step: float, k: float, volume_l: float
) -> list[tuple[str, Floats, float, float]]:
    """Columns of what was told: moves, forced cooling, a heater's record."""
    assert given.pitched_at is not None
    parts: list[tuple[str, Floats, float, float]] = []

    pitched_at = given.pitched_at

    def hour(moment: datetime) -> float:
        return (moment - pitched_at).total_seconds() / 3600

    for moment in given.moves:
        at = hour(moment)
        if t[0] + 1 < at < t[-1] - 1:
            since = (t > at).astype(np.float64)
            parts.append(("moved-loss", -k * integral(d * since, step), 0.0, 0.4))
            parts.append(("moved-offset", k * integral(since, step), 0.0, 0.6))
            parts.append(("moved-step", since, 0.0, 0.3))
    for span in given.cooled:
        begin, end = hour(span.since), hour(span.until) if span.until else float(t[-1]) + 1
        if end > t[0] and begin < t[-1]:
            inside = ((t >= begin) & (t <= end)).astype(np.float64)
            parts.append(("cooled-loss", -k * integral(d * inside, step), 0.5, 0.6))
            parts.append(("cooled", k * integral(inside, step), -2.5, 2.5))
    if given.heater:
        told = sorted(given.heater, key=lambda s: s.at)
        fine = np.arange(t[0] - step, t[-1] + step, HEATER_STEP_H)
        times = [hour(s.at) for s in told]
        which = np.searchsorted(times, fine, side="right") - 1
        states = np.array([1.0 if s.on else 0.0 for s in told])
        on = np.where(which >= 0, states[np.maximum(which, 0)], 0.0)
        warmth = integral(lowpassed(on, HEATER_STEP_H, HEATER_LAG_H, float(on[0])), HEATER_STEP_H)
        # The beer of a row is the mean of its bin, and a pad may switch twice within it: so is the column.
        whole = integral(warmth, HEATER_STEP_H)
        column = (np.interp(t + step / 2, fine, whole) - np.interp(t - step / 2, fine, whole)) / step
        gain = HEATER_SHARE * (given.heater_w or USUAL_PAD_W) / (1.14 * volume_l)
        spread = TOLD_HEATER_SPREAD if given.heater_w else USUAL_PAD_SPREAD
        if Near.THERMOSTAT_FRIDGE in given.near and Near.HEATER not in given.near:
            # A fridge works on the air, which is measured; what reaches the beer beside that is unknown.
            gain, spread = 0.0, 0.5 * gain
        else:
            spread *= gain
        parts.append(("heater", column - column[0], gain, spread))
    return parts
