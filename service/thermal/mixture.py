"""Draws from all stories together, and what each draw says of gravity and heat. Worker process only."""

from dataclasses import dataclass

import numpy as np

from service.thermal.arrays import Flags, Floats
from service.thermal.case import DOG, SHAPE, STOP, Case
from service.thermal.columns import LOSS, OFFSET, SEEN
from service.thermal.heatcurve import Curves
from service.thermal.hypotheses import NONE, STOPPED, capped, uncapped
from service.thermal.stories import Told

DRAWS = 240
AHEAD_H = 120
FINISH_PT = 1.0
IDLE_PT = 3.0


@dataclass(frozen=True, slots=True)
class Draws:
    """One entry (or row) per draw, with weights adding to one.

    stopped: draws of a story that stops early.
    none: draws without any heat, which carry what a slow fermentation could hide; idle: those and the ones
    that have hardly begun. gravity_pt and dropped_pt: now. day_pt: drop of the coming day. full_pt: drop
    from start to end; potential_pt: the same were it not to stop. share: of what could ferment. fastest_pt:
    fastest past drop of a day. finish_z: warped hour within a point of the end. heat_kh: kelvin per
    hour now; peak_kh: at its strongest so far; ahead_kh: hourly ahead (rows). tau_h, excess_k, seen: of the
    vessel.
    """

    weight: Floats
    none: Flags
    stopped: Flags
    idle: Flags
    gravity_pt: Floats
    dropped_pt: Floats
    day_pt: Floats
    full_pt: Floats
    potential_pt: Floats
    share: Floats
    fastest_pt: Floats
    finish_z: Floats
    heat_kh: Floats
    peak_kh: Floats
    ahead_kh: Floats
    progress: Floats
    tau_h: Floats
    excess_k: Floats
    seen: Floats


def quantile(values: Floats, weight: Floats, q: float) -> float:
    """Weighted quantile."""
    order = np.argsort(values)
    total = np.cumsum(weight[order]) - weight[order] / 2
    return float(np.interp(q, total / weight.sum(), values[order]))


@dataclass(frozen=True, slots=True)
class _Sets:
    p: Floats
    weight: Floats
    none: Flags
    stopped: Flags
    cut: Flags


def _parameters(told: Told, rng: np.random.Generator) -> _Sets:
    sets, weights, none, stopped, cut = [], [], [], [], []
    for part, weight in told.parts:
        count = max(24, round(DRAWS * weight))
        unit = rng.standard_normal((len(part.p), count))
        # H = L L^T, so that L^-T turns unit draws into draws of covariance H^-1.
        draws = part.p + np.linalg.solve(part.factor.T, unit).T
        sets.append(draws)
        weights.append(np.full(count, weight / count))
        none.append(np.full(count, part.story is NONE))
        stopped.append(np.full(count, part.story.name == STOPPED))
        cut.append(np.full(count, part.story.cut))
    return _Sets(
        np.vstack(sets),
        np.concatenate(weights),
        np.concatenate(none),
        np.concatenate(stopped),
        np.concatenate(cut),
    )


def drawn(
    case: Case,
    told: Told,
    past: tuple[Floats, Floats],
    now: tuple[float, float, float],
    rng: np.random.Generator,
) -> Draws:
    """past: hours and warped hours so far, hourly; now: hour, warped hour, and the pace ahead."""
    sets = _parameters(told, rng)
    p, none = sets.p, sets.none
    n = case.n_linear
    p[:, n + STOP] = np.minimum(p[:, n + STOP], 0.0)
    f = np.exp(p[:, n + STOP])
    _, now_z, pace = now
    curves = Curves(p[:, n + SHAPE :])
    ahead = now_z + pace * np.arange(AHEAD_H + 1)
    z = np.concatenate([past[1], ahead, [max(0.0, now_z - 0.5 * pace)]])
    share = curves.at(z)
    share[sets.cut] = capped(share[sets.cut], f[sets.cut, None])
    idle = share[:, len(past[1])] * case.full_drop(p) < IDLE_PT
    idle |= none
    slow = np.clip(rng.normal(*told.hidden, len(p)), 0.0, 0.95)
    share[none] = slow[none, None] * np.minimum(z / max(1.0, now_z), 1.5)
    share = np.clip(share, 0.0, 1.0)
    faded = case.faded(p, sets.cut)[:, None]
    potential = case.full_drop(p)
    full = potential * np.where(sets.cut, case.fallen(f), f)
    dropped = potential[:, None] * case.fallen(share) * faded
    k = len(past[1])
    dropped_now = dropped[:, k]
    added = float(case.direct_late(now_z))
    past_step = max(1e-6, float(past[0][1] - past[0][0])) if k > 1 else 1.0
    window = max(1, round(24 / past_step))
    early = dropped[:, :k]
    gained = early[:, window:] - early[:, :-window] if k > window else early[:, -1:] - early[:, :1]
    size = case.amplitude(p)[:, None] * faded
    past_heat = np.diff(share[:, :k], axis=1) / past_step * size
    heat = np.diff(share[:, k : k + AHEAD_H + 1], axis=1) * size
    left = FINISH_PT / np.maximum(full, 1.5) / (1 - case.bow)
    finish = curves.reached(np.where(sets.cut, uncapped(f * (1 - left), f), 1 - left))
    finish[none] = np.inf
    return Draws(
        weight=sets.weight,
        none=none,
        stopped=sets.stopped,
        idle=idle,
        gravity_pt=case.og_pt + p[:, n + DOG] - dropped_now + added,
        dropped_pt=dropped_now,
        day_pt=dropped[:, k + 24] - dropped_now,
        full_pt=full,
        potential_pt=potential,
        share=share[:, k] * faded[:, 0],
        fastest_pt=gained.max(axis=1),
        finish_z=finish,
        heat_kh=heat[:, 0],
        peak_kh=past_heat.max(axis=1) if k > 1 else np.zeros(len(p)),
        ahead_kh=heat,
        progress=share[:, :k] * faded,
        tau_h=case.columns.tau_h / np.exp(np.clip(p[:, LOSS], np.log(0.2), 3.0)),
        excess_k=p[:, OFFSET] / np.exp(np.clip(p[:, LOSS], np.log(0.2), 3.0)),
        seen=p[:, SEEN],
    )
