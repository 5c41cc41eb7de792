"""Minutes of two probes on one even grid of half hours (later hours), gaps marked. Worker process only.

Averaging over half an hour beats the sixteenth-degree steps of the probes.
"""

from dataclasses import dataclass
from datetime import datetime

import numpy as np

from service.thermal.arrays import Flags, Floats, lowpassed
from service.thermal.inputs import Trace

LONG_H = 120.0
"""Beyond five days the bins double: by then an end is looked for on the scale of days."""


@dataclass(frozen=True, slots=True)
class Bins:
    """Middle of each bin in hours from pitching, beer, air, and whether both were measured there.

    Values in a gap are joined by straight lines, for integrals only. six and thirty: the air low-passed over
    6 and 30 hours. interval_min: typical spacing of the samples.
    """

    hours: Floats
    beer: Floats
    air: Floats
    present: Flags
    six: Floats
    thirty: Floats
    step_h: float
    interval_min: float
    longest_gap_h: float


def ordered(trace: Trace, origin: datetime) -> tuple[Floats, Floats]:
    """Hours from `origin` and degrees, in order of time, without doubles or impossible values."""
    shift = (trace.start - origin).total_seconds() / 3600
    hours = np.asarray(trace.minutes, dtype=np.float64) / 60 + shift
    temps = np.asarray(trace.temp_c, dtype=np.float64)
    good = np.isfinite(hours) & np.isfinite(temps) & (temps > -30) & (temps < 110)
    hours, temps = hours[good], temps[good]
    order = np.argsort(hours, kind="stable")
    hours, temps = hours[order], temps[order]
    keep = np.ones(len(hours), dtype=bool)
    keep[1:] = np.diff(hours) > 1e-6
    return hours[keep], temps[keep]


def _means(hours: Floats, temps: Floats, first_h: float, n: int, step_h: float) -> Floats:
    place = np.floor((hours - first_h) / step_h).astype(np.int64)
    inside = (place >= 0) & (place < n)
    count = np.bincount(place[inside], minlength=n)
    total = np.bincount(place[inside], weights=temps[inside], minlength=n)
    out = np.full(n, np.nan)
    np.divide(total, count, out=out, where=count > 0)
    return out


def _bridged(values: Floats) -> Floats:
    known = np.isfinite(values)
    where = np.arange(len(values))
    bridged: Floats = np.interp(where, where[known], values[known])
    return bridged


def binned(beer: Trace, air: Trace, pitched_at: datetime, until_h: float) -> Bins | None:
    """The grid from pitching to `until_h`; None with fewer than four bins in which both were measured."""
    step = 0.5 if until_h <= LONG_H else 1.0
    n = int(until_h / step)
    beer_h, beer_c = ordered(beer, pitched_at)
    air_h, air_c = ordered(air, pitched_at)
    if n < 4 or not len(beer_h) or not len(air_h):
        return None
    beer_bins = _means(beer_h, beer_c, 0.0, n, step)
    air_bins = _means(air_h, air_c, 0.0, n, step)
    present = np.isfinite(beer_bins) & np.isfinite(air_bins)
    if present.sum() < 4:
        return None
    before = int(min(48.0, max(0.0, -float(air_h[0]))) / step)
    earlier = _means(air_h, air_c, -before * step, before, step) if before else np.empty(0)
    whole = _bridged(np.concatenate([earlier, air_bins]))
    begun = float(whole[: int(12 / step)].mean())
    where = np.flatnonzero(present)
    gaps = np.diff(np.concatenate([[0], where, [n - 1]]))
    return Bins(
        hours=np.asarray((np.arange(n) + 0.5) * step, dtype=np.float64),
        beer=_bridged(beer_bins),
        air=whole[before:],
        present=present,
        six=lowpassed(whole, step, 6.0, begun)[before:],
        thirty=lowpassed(whole, step, 30.0, begun)[before:],
        step_h=step,
        interval_min=float(np.median(np.diff(beer_h))) * 60 if len(beer_h) > 1 else 60.0,
        longest_gap_h=float(gaps.max()) * step,
    )
