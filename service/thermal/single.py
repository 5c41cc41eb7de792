"""What one probe alone can tell: that it has begun, that it is past its peak. Worker process only."""

import numpy as np

from service.thermal.arrays import running_mean
from service.thermal.bins import ordered
from service.thermal.inputs import EstimateInput
from service.thermal.results import Estimate, Verdict

SECOND = (
    "A second probe in the air beside the vessel would show gravity, the end of activity, and a forecast."
)


def one_probe(given: EstimateInput, until_h: float) -> Estimate:
    """Begun: the day's mean rose steadily by over 1 C. Past its peak: it then fell by a third of that."""
    assert given.pitched_at is not None
    assert given.beer is not None
    hours, temps = ordered(given.beer, given.pitched_at)
    inside = (hours >= 0) & (hours <= until_h)
    hours, temps = hours[inside], temps[inside]
    if len(hours) < 10 or hours[-1] < 18:
        return Estimate(given.at, Verdict.WAITING, evidence=("Too soon to tell from one probe.", SECOND))
    grid = np.arange(0.0, hours[-1], 0.5)
    even = np.interp(grid, hours, temps)
    # A day's mean leaves out the room's daily swing, which one probe cannot tell from fermentation.
    smooth = running_mean(even, 48)
    start = float(smooth[min(len(smooth) - 1, 16)])
    top = int(np.argmax(smooth))
    rise = float(smooth[top]) - start
    fallen = float(smooth[top] - smooth[-1])
    if rise < 1.0 or top < 24:
        return Estimate(given.at, Verdict.UNKNOWN, evidence=("One probe shows no clear warming.", SECOND))
    if fallen > max(0.4, rise / 3):
        return Estimate(
            given.at,
            Verdict.SLOWING,
            evidence=(
                f"The beer warmed by {rise:.1f} C and has cooled again by {fallen:.1f} C: past its peak.",
                SECOND,
            ),
        )
    return Estimate(
        given.at,
        Verdict.WORKING,
        evidence=(f"It has begun: the beer's daily mean rose by {rise:.1f} C.", SECOND),
    )
