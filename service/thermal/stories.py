"""The three stories of a batch, each fitted from its own starts, weighed by their evidence. Worker only."""

import math
from dataclasses import dataclass

import numpy as np

from service.thermal.arrays import Floats
from service.thermal.case import SCALE, SHAPE, STOP, Case
from service.thermal.fit import Optimum, cost_of, cut_starts, refine, starts
from service.thermal.heatcurve import N_SHAPE, Curves
from service.thermal.hypotheses import (
    CUT_SOMEWHERE,
    CUTS,
    FADES,
    FADES_SOMEWHERE,
    NONE,
    NORMAL,
    capped,
)
from service.thermal.noise import FIRST_SIGMA, FIRST_THETA, chosen, whitener
from service.thermal.residuals import Residuals

MOST_STARTS = 4
LEAST_WEIGHT = 5e-4
HIDDEN_SD = 0.5


@dataclass(frozen=True, slots=True)
class Told:
    """What the fits found: local optima with weights adding to one, the noise they were weighed with, and
    mean and spread of the share that an even, slow fermentation could have reached unseen."""

    parts: tuple[tuple[Optimum, float], ...]
    sigma: float
    theta: float
    cost_per_bin: float
    hidden: tuple[float, float]

    def weight(self, name: str) -> float:
        """The share of all evidence that the stories of a name have."""
        return sum(w for part, w in self.parts if part.story.name == name)

    @property
    def best(self) -> Optimum:
        """The part with the largest weight."""
        return max(self.parts, key=lambda part: part[1])[0]


def _residual(case: Case, best: Optimum) -> Floats:
    """Unwhitened residual of the rows at an optimum."""
    plain = Residuals(case, best.story, np.eye(len(case.y)), 1.0)
    e, _ = plain.at(best.p, False)
    return e[: len(case.y)]


def _distinct(parts: list[Optimum]) -> list[Optimum]:
    kept: list[Optimum] = []
    for part in sorted(parts, key=lambda q: q.cost):
        tail = -(N_SHAPE + 4)
        same = any(
            part.story == other.story
            and abs(part.cost - other.cost) < 0.3
            and float(np.abs(part.p[tail : tail + 6] - other.p[tail : tail + 6]).max()) < 0.15
            for other in kept
        )
        if not same:
            kept.append(part)
    return kept


def _hidden(case: Case, idle: Residuals, none: Optimum) -> tuple[float, float]:
    """Share fermented evenly since pitching that the fit without heat leaves room for: mean and spread."""
    e, jac = idle.at(none.p, True)
    assert jac is not None
    rows = slice(0, idle.n_rows)
    column = idle.white @ (case.rise_k * case.z / max(1.0, float(case.z[-1])))
    known = np.linalg.solve(none.factor, jac[rows].T @ column)
    precision = float(column @ column - known @ known) + 1 / HIDDEN_SD**2
    return float(column @ e[rows]) / precision, 1 / math.sqrt(max(1e-6, precision))


def _slows(case: Case, best: Optimum) -> bool:
    """Whether the heat has fallen below half its best: earlier there is nothing to tell a stop by."""
    z = np.linspace(0.0, float(case.z[-1]), 60)
    pace = np.diff(Curves(best.p[None, case.n_linear + SHAPE :]).at(z)[0])
    return float(pace[-1]) < 0.5 * float(pace.max())


def _stopped(case: Case, white: Floats, sigma: float, best: Optimum) -> list[Optimum]:
    """The stories that stop early, each at its local best."""
    slows = _slows(case, best)
    fades, cuts = (FADES, CUTS) if slows else ((FADES_SOMEWHERE,), (CUT_SOMEWHERE,))
    n = case.n_linear
    found = []
    for story in fades:
        start = best.p.copy()
        start[n + STOP] = story.stop_mean
        start[n + SCALE] = max(-0.1, start[n + SCALE])
        found.append(refine(Residuals(case, story, white, sigma), start))
    begun = cut_starts(case, white, sigma, cuts)
    for story, start, fading in zip(cuts, begun, tuple(found), strict=True):
        residuals = Residuals(case, story, white, sigma)
        bent = _cut_like(case, fading)
        found.append(refine(residuals, min((start, bent), key=lambda p: cost_of(residuals, p))))
    return found


def _cut_like(case: Case, fading: Optimum) -> Floats:
    """The parameters of a cut that looks most like a fading story that was fitted."""
    n = case.n_linear
    p = fading.p.copy()
    f = math.exp(p[n + STOP])
    z = np.linspace(0.0, float(case.z[-1]), 80)
    wanted = f * Curves(p[None, n + SHAPE :]).at(z)[0]
    later, faster = np.meshgrid(np.linspace(-0.3, 0.9, 13), np.linspace(-0.7, 0.7, 8))
    shapes = np.repeat(p[None, n + SHAPE :], later.size, axis=0)
    shapes[:, 0] += later.ravel()
    shapes[:, 1] += faster.ravel()
    apart = capped(Curves(shapes).at(z), f) - wanted
    p[n + SHAPE :] = shapes[int(np.argmin(np.sum(apart**2, axis=1)))]
    return p


def told(case: Case) -> Told:
    """Fit all stories. Two noise settings: a first guess, then the one its residuals ask for."""
    n = case.n_linear
    white = whitener(case.present, FIRST_THETA)
    rough = Residuals(case, NORMAL, white, FIRST_SIGMA)
    begun = [refine(rough, p, steps=5) for p in starts(case, white, FIRST_SIGMA)]
    begun = _distinct(begun)
    first = begun[0]
    theta, sigma = chosen(_residual(case, first), case.present)
    white = whitener(case.present, theta)
    normal = Residuals(case, NORMAL, white, sigma)
    halfway = _distinct([refine(normal, part.p, steps=3) for part in begun])[:MOST_STARTS]
    found = _distinct([refine(normal, part.p) for part in halfway])
    best = min(found, key=lambda part: part.cost)
    cost_per_bin = best.cost / max(1, len(case.y))
    found += _stopped(case, white, sigma, best)
    flat = best.p.copy()
    flat[:n] = normal.mean[:n]
    flat[n + SCALE :] = normal.mean[n + SCALE :]
    idle = Residuals(case, NONE, white, sigma)
    none = refine(idle, flat)
    found.append(none)
    found = _distinct(found)
    evidence = np.array([part.log_evidence for part in found])
    if len(case.direct.seen_z):
        evidence += np.array([math.log(0.03) if part.story is NONE else 0.0 for part in found])
    weight = np.exp(evidence - evidence.max())
    weight /= weight.sum()
    pairs = zip(found, weight.tolist(), strict=True)
    kept = tuple((part, w) for part, w in pairs if w > LEAST_WEIGHT)
    return Told(kept, sigma, theta, cost_per_bin, _hidden(case, idle, none))
