"""One batch made ready for fitting: rows, priors, readings, the model's residuals. Worker process only."""

import math
from dataclasses import dataclass

import numpy as np

from service.thermal import beer
from service.thermal.arrays import Flags, Floats
from service.thermal.bins import Bins
from service.thermal.columns import LEAST_LOSS_LN, LOSS, SEEN, Columns
from service.thermal.heatcurve import LAG_SHARE, LAG_Z, N_SHAPE, SHAPE_MEAN, SHAPE_SD, Curves
from service.thermal.inputs import READING_ERROR_PT, EstimateInput, ReadBy

SCALE, ATT, DOG, STOP, SHAPE = range(5)
"""Places behind the linear block: ln heat scale, ln attenuation, error of the original gravity in points,
ln of the share at which it stopped, and the first of the shape."""

SCALE_PRIOR = (-0.04, 0.09)
USUAL_ATTENUATION, USUAL_ATTENUATION_SD = 0.76, 0.06
NUDGE = 1e-4
SEEN_SHARE = 0.015
"""Foam or a busy airlock means that at least about this share has fermented."""


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """A story about the batch: its prior weight and what it says of ln f."""

    name: str
    weight: float
    stop_mean: float
    stop_sd: float
    heat: bool
    one_sided: bool


NORMAL = Hypothesis("normal", 0.93, 0.0, 0.02, True, False)
STOPPED = Hypothesis("stopped-early", 0.05, math.log(0.6), 0.35, True, True)
NONE = Hypothesis("not-started", 0.02, 0.0, 0.02, False, False)


@dataclass(frozen=True, slots=True)
class Direct:
    """Direct readings as arrays: warped hours, points, errors, and their kinds; jars apart."""

    z: Floats
    points: Floats
    error: Floats
    weighed: Flags
    late: Floats
    jar_points: Floats
    seen_z: Floats
    added: tuple[tuple[float, float], ...]


@dataclass(slots=True)
class Case:
    """Everything the fit needs. Points are 0.001 of gravity; the rows are already without gaps."""

    columns: Columns
    hours: Floats
    y: Floats
    x: Floats
    z: Floats
    present: Flags
    og_pt: float
    og_error_pt: float
    att: tuple[float, float]
    rise_k: float
    bow: float
    added_heat: Floats
    direct: Direct

    @property
    def n_linear(self) -> int:
        return int(self.x.shape[1])

    @property
    def size(self) -> int:
        return self.n_linear + SHAPE + N_SHAPE

    def prior(self, story: Hypothesis) -> tuple[Floats, Floats]:
        """Means and spreads of all parameters under a story."""
        att, att_sd = self.att
        mean = np.concatenate(
            [self.columns.mean, [SCALE_PRIOR[0], math.log(att), 0.0, story.stop_mean], SHAPE_MEAN]
        )
        sd = np.concatenate(
            [self.columns.sd, [SCALE_PRIOR[1], att_sd / att, self.og_error_pt, story.stop_sd], SHAPE_SD]
        )
        return mean, sd

    def direct_late(self, z: float) -> float:
        """Points that additions up to the warped hour z still add to gravity."""
        return sum(added_points(z - start, points) for start, points in self.direct.added if z > start)

    def amplitude(self, p: Floats) -> Floats:
        """Kelvin of self-heating in all; parameters along the last axis."""
        n = self.n_linear
        ln = p[..., n + SCALE] + p[..., n + ATT] - math.log(self.att[0]) + p[..., n + STOP]
        rise: Floats = self.rise_k * np.exp(ln) * (1 + p[..., n + DOG] / self.og_pt)
        return rise

    def full_drop(self, p: Floats) -> Floats:
        """Points from the original to the final gravity, were it not to stop."""
        n = self.n_linear
        drop: Floats = np.exp(p[..., n + ATT]) * (self.og_pt + p[..., n + DOG])
        return drop

    def drop(self, p: Floats, share: Floats) -> Floats:
        """Points dropped when `share` of what will ferment has fermented (one parameter set)."""
        f = np.exp(p[self.n_linear + STOP])
        dropped: Floats = self.full_drop(p) * (share + self.bow * share * (1 - share)) * f
        return dropped


def make_case(bins: Bins, z: Floats, columns: Columns, given: EstimateInput, pace: float) -> Case:
    """Rows and readings of one batch; `pace` carries warped time on beyond the last bin."""
    assert given.og is not None
    assert given.pitched_at is not None
    att, att_sd = USUAL_ATTENUATION, USUAL_ATTENUATION_SD
    if given.yeast is not None:
        low, high = given.yeast.attenuation_low, given.yeast.attenuation_high
        att, att_sd = (low + high) / 2, max(0.012, (high - low) / 2 / 1.3)
    fg = 1 + (given.og - 1) * (1 - att)
    rise = beer.adiabatic_rise_k(given.og, fg)
    kept = bins.present[columns.keep]
    t = bins.hours[columns.keep][kept]

    def warped_at(hour: float) -> float:
        if hour > bins.hours[-1]:
            return float(z[-1] + pace * (hour - bins.hours[-1]))
        return float(np.interp(hour, np.concatenate([[0.0], bins.hours]), np.concatenate([[0.0], z])))

    added_heat = np.zeros_like(t)
    added: list[tuple[float, float]] = []
    for addition in given.additions:
        hour = (addition.at - given.pitched_at).total_seconds() / 3600
        since = np.maximum(0.0, z[columns.keep][kept] - warped_at(hour))
        part = addition.points / (att * 1000 * (given.og - 1))
        added_heat += part * (1 - np.exp(-since / 18.0))
        added.append((warped_at(hour), addition.points))
    rows: list[tuple[float, float, float, bool, float]] = []
    jars = []
    for reading in sorted(given.readings, key=lambda r: r.at):
        hour = (reading.at - given.pitched_at).total_seconds() / 3600
        if hour < 0:
            continue
        if reading.by is ReadBy.LIMIT_JAR:
            jars.append(1000 * (reading.sg - 1))
            continue
        at = warped_at(hour)
        late = sum(added_points(at - start, points) for start, points in added if at > start)
        error = reading.error_pt or READING_ERROR_PT[reading.by]
        rows.append((at, 1000 * (reading.sg - 1), error, reading.by is ReadBy.WEIGHT, late))
    seen = [
        warped_at((s.at - given.pitched_at).total_seconds() / 3600)
        for s in given.sightings
        if s.what in ("foam-up", "airlock-busy", "foam-fallen")
    ]
    table = np.array(rows, dtype=np.float64).reshape(len(rows), 5)
    direct = Direct(
        z=table[:, 0],
        points=table[:, 1],
        error=table[:, 2],
        weighed=table[:, 3] > 0,
        late=table[:, 4],
        jar_points=np.array(jars, dtype=np.float64),
        seen_z=np.array(seen, dtype=np.float64),
        added=tuple(added),
    )
    return Case(
        columns=columns,
        hours=t,
        y=bins.beer[columns.keep][kept],
        x=columns.matrix[kept],
        z=z[columns.keep][kept],
        present=kept,
        og_pt=1000 * (given.og - 1),
        og_error_pt=given.og_error_pt,
        att=(att, att_sd),
        rise_k=rise,
        bow=beer.bow(given.og, fg),
        added_heat=added_heat,
        direct=direct,
    )


def added_points(since_z: float, points: float) -> float:
    """What an addition still adds to gravity, `since_z` warped hours after it (spirit makes it end below)."""
    return points * (1 - 1.05 * (1 - math.exp(-since_z / 18.0)))


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
        case, n = self.case, self.case.n_linear
        d = case.direct
        coefficient = p[:n].copy()
        loss = math.exp(max(p[LOSS], LEAST_LOSS_LN))
        coefficient[LOSS] = loss
        heat_on = 1.0 if self.story.heat else 0.0
        shapes = p[None, n + SHAPE :]
        if slopes and self.story.heat:
            shapes = np.vstack([shapes, shapes + NUDGE * np.eye(N_SHAPE)])
        shares = Curves(shapes).at(self.z)
        share = shares[0]
        size = float(case.amplitude(p))
        seen = 1 - p[SEEN]
        scale = math.exp(p[n + SCALE]) * case.rise_k
        warmth = heat_on * size * share[: self.n_rows] + scale * case.added_heat
        white_heat = self.white @ warmth
        nr = len(d.z)
        at_readings = share[self.n_rows : self.n_rows + nr]
        drop = heat_on * case.drop(p, at_readings)
        full = float(case.full_drop(p))
        dog = p[n + DOG]
        own_dog = np.where(d.weighed, 0.0, dog)
        readings = (case.og_pt + own_dog - drop + d.late - d.points) / d.error
        jar_sd = READING_ERROR_PT[ReadBy.LIMIT_JAR]
        jars = (case.og_pt + dog - full - d.jar_points) / jar_sd
        at_seen = heat_on * share[self.n_rows + nr : -1]
        short = np.maximum(0.0, SEEN_SHARE - at_seen) / (0.4 * SEEN_SHARE)
        lag = heat_on * share[-1] / LAG_SHARE
        side = max(0.0, p[n + STOP] + 0.1) / 0.03 if self.story.one_sided else 0.0
        e = np.concatenate(
            [
                self.white_y - self.white_x @ coefficient - seen * white_heat,
                readings,
                jars,
                short,
                [lag, side],
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
        at = self.n_rows + nr
        jac[self.n_rows : at, n + DOG] = np.where(d.weighed, 0.0, 1.0) / d.error
        jac[at : at + len(jars), n + DOG] = (1 - math.exp(p[n + ATT])) / jar_sd
        jac[at : at + len(jars), n + ATT] = -full / jar_sd
        if self.story.heat:
            white_main = self.white @ (size * share[: self.n_rows])
            jac[rows, n + ATT] = jac[rows, n + STOP] = -seen * white_main
            jac[rows, n + DOG] = -seen * white_main / (case.og_pt + dog)
            change = (shares[1:] - share) / NUDGE
            jac[rows, n + SHAPE :] = -seen * size * (self.white @ change[:, : self.n_rows].T)
            jac[self.n_rows : at, n + ATT] = jac[self.n_rows : at, n + STOP] = -drop / d.error
            jac[self.n_rows : at, n + DOG] -= drop / (case.og_pt + dog) / d.error
            lean = full * math.exp(p[n + STOP]) * (1 + case.bow * (1 - 2 * at_readings))
            jac[self.n_rows : at, n + SHAPE :] = -(lean * change[:, self.n_rows : at] / d.error).T
            if self.n_seen:
                begin = self.n_rows + nr
                slope = np.where(short > 0, -1 / (0.4 * SEEN_SHARE), 0.0)
                lines = slice(at + len(jars), at + len(jars) + self.n_seen)
                jac[lines, n + SHAPE :] = (slope * change[:, begin : begin + self.n_seen]).T
            jac[-2, n + SHAPE :] = change[:, -1] / LAG_SHARE
            if self.story.one_sided and side > 0:
                jac[-1, n + STOP] = 1 / 0.03
        return e, jac
