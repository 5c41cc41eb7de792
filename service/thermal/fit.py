"""Levenberg-Marquardt with the priors as damping, begun from curves solved in closed form. Worker only."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from service.thermal.arrays import Floats
from service.thermal.case import SCALE, SHAPE, STOP, Case
from service.thermal.columns import LOSS, SEEN
from service.thermal.heatcurve import LAG_SHARE, LAG_Z, SHAPE_MEAN, SHAPE_SD, Curves
from service.thermal.hypotheses import NORMAL, Hypothesis, capped
from service.thermal.residuals import Residuals

HUBER = 2.5
"""Beyond this many spreads a row pulls with constant force: doors and sun."""

STEPS = 25
AGES = np.log([27.0, 60.0])
FLAT = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
LOSS_SDS = (0.12, 0.4)
SIZE_SD = 0.15
CUT_LOSS_SD = 0.25


@dataclass(frozen=True, slots=True)
class Optimum:
    """One local best: parameters, cost, Cholesky factor of the curvature, and its log evidence."""

    story: Hypothesis
    p: Floats
    cost: float
    factor: Floats
    log_evidence: float


def _weights(e: Floats, n_rows: int) -> tuple[Floats, float]:
    """Square roots of the Huber weights, and the cost."""
    size = np.abs(e[:n_rows])
    root = np.ones_like(e)
    far = size > HUBER
    root[:n_rows][far] = np.sqrt(HUBER / size[far])
    cost = 0.5 * float(np.sum(e[n_rows:] ** 2))
    cost += float(np.sum(np.where(far, HUBER * (size - HUBER / 2), 0.5 * size**2)))
    return root, cost


def cost_of(residuals: Residuals, p: Floats) -> float:
    """Cost of parameters, priors included."""
    e, _ = residuals.at(p, False)
    _, cost = _weights(e, residuals.n_rows)
    return cost + 0.5 * float(np.sum(((p - residuals.mean) / residuals.sd) ** 2))


def refine(residuals: Residuals, start: Floats, steps: int = STEPS) -> Optimum:
    """The local best near `start`. Each step costs one evaluation with slopes; worse steps are damped."""
    mean, sd = residuals.mean, residuals.sd
    precision = 1 / sd**2
    p, damping = start.copy(), 1e-3
    e, jac = residuals.at(p, True)
    root, cost = _weights(e, residuals.n_rows)
    cost += 0.5 * float(np.sum(((p - mean) / sd) ** 2))
    for _ in range(steps):
        assert jac is not None
        weighted = jac * root[:, None]
        curvature = weighted.T @ weighted + np.diag(precision)
        pull = weighted.T @ (e * root) + (p - mean) * precision
        moved = False
        for _ in range(6):
            step = np.linalg.solve(curvature + damping * np.diag(np.diag(curvature)), pull)
            trial = p - np.clip(step, -4 * sd, 4 * sd)
            e_new, _ = residuals.at(trial, False)
            root_new, cost_new = _weights(e_new, residuals.n_rows)
            cost_new += 0.5 * float(np.sum(((trial - mean) / sd) ** 2))
            if cost_new < cost:
                moved = True
                break
            damping = max(damping, 1e-3) * 8
        if not moved:
            break
        gained = cost - cost_new
        p, root, cost = trial, root_new, cost_new
        damping = max(1e-6, damping / 6)
        e, jac = residuals.at(p, True)
        if gained < 0.02:
            break
    assert jac is not None
    weighted = jac * root[:, None]
    curvature = weighted.T @ weighted + np.diag(precision)
    factor: Floats = np.asarray(np.linalg.cholesky(curvature), dtype=np.float64)
    log_det = 2 * float(np.sum(np.log(np.diag(factor))))
    evidence = math.log(residuals.story.weight) - cost - 0.5 * log_det - float(np.sum(np.log(sd)))
    return Optimum(residuals.story, p, cost, factor, evidence)


def _grid() -> Floats:
    middles = np.log(np.geomspace(14, 170, 8))
    speeds = np.log([0.03, 0.06, 0.11, 0.2])
    bows = np.log([0.3, 1.5])
    # A plain curve, and two with the glucose gone at some share; all with some tail of slow sugars.
    late = SHAPE_MEAN[11:].tolist()
    bends = [(*FLAT, fall, at, *late) for fall, at in ((0.0, 0.27), (0.6, 0.22), (0.6, 0.32))]
    shapes = [[m, b, v, *bend] for m in middles for b in speeds for v in bows for bend in bends]
    return np.array(shapes, dtype=np.float64)


@dataclass(frozen=True, slots=True)
class _Solved:
    """Costs of all grid curves, with thermal block and amplitude solved for one prior on the loss."""

    cost: Floats
    size: Floats
    linear: Floats


def _solve(case: Case, w: Floats, y: Floats, h: Floats, loss_sd: float) -> _Solved:
    n = case.n_linear
    mean, sd = case.prior(NORMAL)
    linear_mean, linear_sd = mean[:n].copy(), sd[:n].copy()
    linear_mean[LOSS] = math.exp(mean[LOSS])
    linear_sd[LOSS] = loss_sd * linear_mean[LOSS]
    y0 = y - w @ linear_mean
    normal = w.T @ w + np.diag(1 / linear_sd**2)
    solved_y = np.linalg.solve(normal, w.T @ y0)
    wh = w.T @ h
    solved_h = np.linalg.solve(normal, wh)
    hh = np.sum(h * h, axis=0) - np.sum(wh * solved_h, axis=0)
    hy = h.T @ y0 - wh.T @ solved_y
    yy = float(y0 @ y0 - (w.T @ y0) @ solved_y)
    size = np.maximum(0.25, (hy + 1 / SIZE_SD**2) / (hh + 1 / SIZE_SD**2))
    cost = 0.5 * (yy - 2 * size * hy + size**2 * hh + ((size - 1) / SIZE_SD) ** 2)
    return _Solved(cost, size, linear_mean[:, None] + solved_y[:, None] - size * solved_h)


def cut_starts(case: Case, white: Floats, sigma: float, stories: Sequence[Hypothesis]) -> list[Floats]:
    """For each story of a cut the parameters to begin from: the best curve of the grid that is cut there."""
    n = case.n_linear
    mean, _ = case.prior(NORMAL)
    shapes = _grid()[::3]
    whole = Curves(shapes).at(np.concatenate([case.z, case.direct.z, [LAG_Z]]))
    w, y = (white @ case.x) / sigma, (white @ case.y) / sigma
    prior = 0.5 * np.sum(((shapes - SHAPE_MEAN) / SHAPE_SD) ** 2, axis=1)
    prior += 0.5 * (whole[:, -1] / LAG_SHARE) ** 2
    picked = []
    for story in stories:
        share = capped(whole, math.exp(story.stop_mean))
        heat = (1 - mean[SEEN]) * case.rise_k * (share[:, : len(case.z)] + case.added_heat)
        solved = _solve(case, w, y, (white @ heat.T) / sigma, CUT_LOSS_SD)
        index = int(np.argmin(solved.cost + prior + _off(case, share[:, len(case.z) : -1])))
        p = _begun(case, mean, solved, index, shapes[index])
        p[n + STOP] = story.stop_mean
        picked.append(p)
    return picked


def _off(case: Case, share: Floats) -> Floats:
    """Cost of missing the direct readings, for rows of shares at them, with the usual attenuation."""
    d = case.direct
    drop = case.att[0] * case.og_pt * case.fallen(share)
    off: Floats = (case.og_pt - drop + d.late - d.points) / np.hypot(d.error, 3.0)
    cost: Floats = 0.5 * np.sum(off**2, axis=1)
    return cost


def _begun(case: Case, mean: Floats, solved: _Solved, index: int, shape: Floats) -> Floats:
    n = case.n_linear
    p = mean.copy()
    p[:n] = solved.linear[:, index]
    p[LOSS] = math.log(max(0.3, p[LOSS]))
    p[n + SCALE] += float(np.clip(np.log(solved.size[index]), -0.12, 0.12))
    p[n + STOP] = 0.0
    p[n + SHAPE :] = shape
    return p


def starts(case: Case, white: Floats, sigma: float) -> list[Floats]:
    """Parameter sets to begin from: of a grid of curves the best early, usual and late one.

    Thermal block and amplitude are solved exactly, once with the loss held near its prior and once freely: a
    slow loss can hide an early fermentation, and the way back is long.
    """
    n = case.n_linear
    mean, _ = case.prior(NORMAL)
    shapes = _grid()
    curves = Curves(shapes)
    w = (white @ case.x) / sigma
    heat = (1 - mean[SEEN]) * case.rise_k * (curves.at(case.z) + case.added_heat)
    h = (white @ heat.T) / sigma
    y = (white @ case.y) / sigma
    other = 0.5 * np.sum(((shapes - SHAPE_MEAN) / SHAPE_SD) ** 2, axis=1)
    other += 0.5 * (curves.at(np.array([LAG_Z]))[:, 0] / LAG_SHARE) ** 2
    other += _off(case, curves.at(case.direct.z))
    picked: list[Floats] = []
    ages = np.searchsorted(AGES, shapes[:, 0])
    for loss_sd in LOSS_SDS:
        solved = _solve(case, w, y, h, loss_sd)
        for age in range(len(AGES) + 1):
            index = int(np.argmin(np.where(ages == age, solved.cost + other, np.inf)))
            picked.append(_begun(case, mean, solved, index, shapes[index]))
    for middle in (18.0, 34.0):
        p = mean.copy()
        p[n + SHAPE :] = [math.log(middle), math.log(0.09), math.log(0.8), *FLAT, 0.6, 0.27, *SHAPE_MEAN[11:]]
        picked.append(p)
    return picked
