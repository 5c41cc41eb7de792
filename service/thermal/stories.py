"""The three stories of a batch, each fitted from its own starts, weighed by their evidence. Worker only."""

import math
from dataclasses import dataclass

import numpy as np

from service.thermal.arrays import Floats
from service.thermal.case import NONE, NORMAL, SCALE, STOP, STOPPED, Case, Hypothesis, Residuals
from service.thermal.fit import Optimum, refine, starts
from service.thermal.heatcurve import N_SHAPE
from service.thermal.noise import FIRST_SIGMA, FIRST_THETA, chosen, whitener

MOST_STARTS = 4
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

    def weight(self, story: Hypothesis) -> float:
        """The share of all evidence that a story has."""
        return sum(w for part, w in self.parts if part.story.name == story.name)

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
            part.story.name == other.story.name
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
    for part in found[:2]:
        start = part.p.copy()
        start[n + STOP] = -0.4
        start[n + SCALE] = max(-0.1, start[n + SCALE])
        found.append(refine(Residuals(case, STOPPED, white, sigma), start))
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
    kept = tuple((part, w) for part, w in pairs if w > 1e-3)
    return Told(kept, sigma, theta, cost_per_bin, _hidden(case, idle, none))
