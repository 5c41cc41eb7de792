"""One batch made ready for fitting: rows, priors and readings. Worker process only."""

import math
from dataclasses import dataclass

import numpy as np

from service.thermal import beer
from service.thermal.arrays import Flags, Floats
from service.thermal.bins import Bins
from service.thermal.columns import Columns
from service.thermal.heatcurve import N_SHAPE, SHAPE_MEAN, SHAPE_SD
from service.thermal.hypotheses import Hypothesis
from service.thermal.inputs import READING_ERROR_PT, EstimateInput, ReadBy

SCALE, ATT, DOG, STOP, SHAPE = range(5)
"""Places behind the linear block: ln heat scale, ln attenuation, error of the original gravity in points,
ln of the share at which it stopped, and the first of the shape."""

SCALE_PRIOR = (-0.04, 0.09)
USUAL_ATTENUATION, USUAL_ATTENUATION_SD = 0.76, 0.06


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

    def faded(self, p: Floats, cut: Flags | bool) -> Floats:
        """What every share is multiplied by: one unless it fades; a cut is in the shares themselves."""
        left: Floats = np.where(cut, 1.0, np.exp(p[..., self.n_linear + STOP]))
        return left

    def amplitude(self, p: Floats) -> Floats:
        """Kelvin of self-heating in all, were it not to stop; parameters along the last axis."""
        n = self.n_linear
        ln = p[..., n + SCALE] + p[..., n + ATT] - math.log(self.att[0])
        rise: Floats = self.rise_k * np.exp(ln) * (1 + p[..., n + DOG] / self.og_pt)
        return rise

    def full_drop(self, p: Floats) -> Floats:
        """Points from the original to the final gravity, were it not to stop."""
        n = self.n_linear
        drop: Floats = np.exp(p[..., n + ATT]) * (self.og_pt + p[..., n + DOG])
        return drop

    def fallen(self, share: Floats) -> Floats:
        """Share of the whole drop in gravity when `share` of the extract has fermented."""
        fallen: Floats = share + self.bow * share * (1 - share)
        return fallen


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
