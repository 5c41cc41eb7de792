"""How far a case lies from what a story says, and the slopes of that. Worker process only."""

import math

import numpy as np

from service.thermal.arrays import Floats
from service.thermal.case import ATT, DOG, SCALE, SHAPE, STOP, Case
from service.thermal.columns import LEAST_LOSS_LN, LOSS, SEEN
from service.thermal.heatcurve import LAG_SHARE, LAG_Z, N_SHAPE, Curves
from service.thermal.hypotheses import CUT_WIDTH, Hypothesis, capped
from service.thermal.inputs import READING_ERROR_PT, ReadBy

NUDGE = 1e-4
SEEN_SHARE = 0.015
"""Foam or a busy airlock means that at least about this share has fermented."""

LEAST_STOP_LN, STOP_EDGE = -0.1, 0.03
"""A story that stops does so below nine tenths, give or take."""


class Residuals:
    """Residuals and their derivatives for one case, one story and one noise."""

    def __init__(self, case: Case, story: Hypothesis, white: Floats, sigma: float) -> None:
        self.case, self.story = case, story
        self.white = white / sigma
        self.white_x = self.white @ case.x
        self.white_y = self.white @ case.y
        self.mean, self.sd = case.prior(story)
        self.n_rows = len(case.y)
        d = case.direct
        self.z = np.concatenate([case.z, d.z, d.seen_z, [LAG_Z]])
        self.n_direct = len(d.z) + len(d.jar_points)
        self.n_seen = len(d.seen_z)

    def at(self, p: Floats, slopes: bool) -> tuple[Floats, Floats | None]:
        """Rows: whitened data, readings, jars, sightings, lag, the stop's one side. Priors come apart."""
        case, n, d = self.case, self.case.n_linear, self.case.direct
        story = self.story
        coefficient = p[:n].copy()
        loss = math.exp(max(p[LOSS], LEAST_LOSS_LN))
        coefficient[LOSS] = loss
        heat_on = 1.0 if story.heat else 0.0
        shapes = p[None, n + SHAPE :]
        if slopes and story.heat:
            shapes = np.vstack([shapes, shapes + NUDGE * np.eye(N_SHAPE)])
        shares = Curves(shapes).at(self.z)
        f = math.exp(p[n + STOP])
        by_stop = shares[0]
        if story.cut:
            by_stop = f / (1 + np.exp(np.clip((f - shares[0]) / CUT_WIDTH, -60, 60)))
            shares = capped(shares, f)
        share = shares[0]
        size = float(case.amplitude(p) * case.faded(p, story.cut))
        full = float(case.full_drop(p))
        fallen = full * float(case.faded(p, story.cut))
        seen = 1 - p[SEEN]
        scale = math.exp(p[n + SCALE]) * case.rise_k
        warmth = heat_on * size * share[: self.n_rows] + scale * case.added_heat
        white_heat = self.white @ warmth
        nr = len(d.z)
        at = self.n_rows + nr
        end = at + len(d.jar_points)
        at_readings = share[self.n_rows : at]
        drop = heat_on * fallen * case.fallen(at_readings)
        dog = p[n + DOG]
        own_dog = np.where(d.weighed, 0.0, dog)
        jar_sd = READING_ERROR_PT[ReadBy.LIMIT_JAR]
        at_seen = heat_on * share[at:-1]
        short = np.maximum(0.0, SEEN_SHARE - at_seen) / (0.4 * SEEN_SHARE)
        side = max(0.0, p[n + STOP] - LEAST_STOP_LN) / STOP_EDGE if story.stops else 0.0
        e = np.concatenate(
            [
                self.white_y - self.white_x @ coefficient - seen * white_heat,
                (case.og_pt + own_dog - drop + d.late - d.points) / d.error,
                (case.og_pt + dog - full - d.jar_points) / jar_sd,
                short,
                [heat_on * share[-1] / LAG_SHARE, side],
            ]
        )
        if not slopes:
            return e, None
        jac = np.zeros((len(e), case.size))
        rows = slice(0, self.n_rows)
        jac[rows, :n] = -self.white_x
        jac[rows, LOSS] *= loss if p[LOSS] > LEAST_LOSS_LN else 0.0
        jac[rows, SEEN] += white_heat
        jac[rows, n + SCALE] = -seen * white_heat
        jac[self.n_rows : at, n + DOG] = np.where(d.weighed, 0.0, 1.0) / d.error
        jac[at:end, n + DOG] = (1 - math.exp(p[n + ATT])) / jar_sd
        jac[at:end, n + ATT] = -full / jar_sd
        if story.heat:
            main = -seen * size * (self.white @ share[: self.n_rows])
            lean = -fallen * (1 + case.bow * (1 - 2 * at_readings)) / d.error
            jac[rows, n + ATT] = main
            jac[rows, n + DOG] = main / (case.og_pt + dog)
            jac[self.n_rows : at, n + ATT] = -drop / d.error
            jac[self.n_rows : at, n + DOG] -= drop / (case.og_pt + dog) / d.error
            if story.cut:
                jac[rows, n + STOP] = -seen * size * (self.white @ by_stop[: self.n_rows])
                jac[self.n_rows : at, n + STOP] = lean * by_stop[self.n_rows : at]
            else:
                jac[rows, n + STOP], jac[self.n_rows : at, n + STOP] = main, -drop / d.error
            change = (shares[1:] - share) / NUDGE
            jac[rows, n + SHAPE :] = -seen * size * (self.white @ change[:, : self.n_rows].T)
            jac[self.n_rows : at, n + SHAPE :] = (lean * change[:, self.n_rows : at]).T
            slope = np.where(short > 0, -1 / (0.4 * SEEN_SHARE), 0.0)
            jac[end : end + self.n_seen, n + SHAPE :] = (slope * change[:, at:-1]).T
            jac[-2, n + SHAPE :] = change[:, -1] / LAG_SHARE
            if side > 0:
                jac[-1, n + STOP] = 1 / STOP_EDGE
        return e, jac
