"""What stands in the way of an estimate: cold on purpose, and what the guards see. Worker process only."""

import numpy as np

from service.thermal import guards
from service.thermal.arrays import Floats
from service.thermal.bins import Bins, ordered
from service.thermal.inputs import EstimateInput, Near, Trace


def held_from(bins: Bins, given: EstimateInput) -> tuple[float, str] | None:
    """Hour from which on the temperatures say nothing, and why: a told cold crash, or sudden cold."""
    assert given.pitched_at is not None
    told_at = [(span.since - given.pitched_at).total_seconds() / 3600 for span in given.cooled]
    if told_at:
        return min(told_at), "The beer was cooled on purpose."
    cold = guards.sudden_cold(bins)
    if cold is not None and not given.moves:
        return cold.hour - 3.0, cold.sentence
    return None


def guarded(bins: Bins, given: EstimateInput, volume_l: float) -> guards.Sign | None:
    """The first sign that something besides yeast and room moves the temperatures."""
    assert given.pitched_at is not None
    assert given.beer is not None
    assert given.air is not None
    if not given.heater and Near.THERMOSTAT_FRIDGE not in given.near:
        sign = guards.heater(bins, _fine(given, given.beer, given.air, float(bins.hours[-1])))
        if sign is not None:
            return sign
    swapped = guards.exchanged(bins)
    if swapped is not None:
        return swapped
    return guards.forced_cooling(bins, volume_l)


def _fine(
    given: EstimateInput, liquid: Trace, air: Trace, until_h: float
) -> tuple[Floats, Floats, Floats] | None:
    """Beer and air in bins of ten minutes; None when the samples come too rarely."""
    assert given.pitched_at is not None
    grid = np.arange(0.0, until_h, 1 / 6)
    out = []
    for trace in (liquid, air):
        hours, temps = ordered(trace, given.pitched_at)
        place = np.floor(hours * 6).astype(np.int64)
        inside = (place >= 0) & (place < len(grid))
        count = np.bincount(place[inside], minlength=len(grid))
        if (count > 0).mean() < 0.6:
            return None
        total = np.bincount(place[inside], weights=temps[inside], minlength=len(grid))
        known = count > 0
        out.append(np.interp(grid, grid[known], total[known] / count[known]))
    return grid, out[0], out[1]
