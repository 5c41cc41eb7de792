"""Where this beer should stop, from the best of what is known about it."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.brewing.readings import ReadingKind
from service.brewing.steadiness import DirectReading

JAR_TOLERANCE_PT = 2.0
"""A limit jar and the beer may differ by so much: two readings of 0.7 point each at 90 %, and a little."""
EXPECTED_ABOVE_PT = 2.0
EXPECTED_BELOW_PT = 3.0
"""An expected end is a guess: ending up to 3 points lower is common, 2 points higher is 1 volume too many."""
YEAST_TOLERANCE_PT = 1.0


@dataclass(frozen=True, slots=True)
class ExpectedEnd:
    """Lowest and highest gravity (SG) at which the beer may be taken to have ended, and who says so."""

    low: float
    high: float
    says: str


def expected_end(
    readings: Sequence[DirectReading],
    *,
    og: float | None,
    expected_fg: float | None,
    attenuation_low: float | None,
    attenuation_high: float | None,
    change_pt: float,
) -> ExpectedEnd | None:
    """The expected end from limit jar, told end or the yeast's attenuation, in this order; None: unknown.

    readings: only those a limit jar may be taken from. attenuations: apparent, as shares. change_pt: how
    far additions moved the end, points (a limit jar taken after them has it in it already).
    """
    jars = [r for r in readings if r.by is ReadingKind.LIMIT_JAR]
    if jars:
        jar = max(jars, key=lambda r: r.at)
        return ExpectedEnd(
            jar.sg - JAR_TOLERANCE_PT / 1000,
            jar.sg + JAR_TOLERANCE_PT / 1000,
            f"the limit jar stopped at {jar.sg:.4f}",
        )
    moved = change_pt / 1000
    if expected_fg is not None:
        told = expected_fg + moved
        return ExpectedEnd(
            told - EXPECTED_BELOW_PT / 1000,
            told + EXPECTED_ABOVE_PT / 1000,
            f"the expected end is {told:.4f}",
        )
    if og is not None and attenuation_low is not None and attenuation_high is not None:
        low = 1 + (og - 1) * (1 - attenuation_high) + moved - YEAST_TOLERANCE_PT / 1000
        high = 1 + (og - 1) * (1 - attenuation_low) + moved + YEAST_TOLERANCE_PT / 1000
        return ExpectedEnd(low, high, f"the yeast ends between {low:.4f} and {high:.4f}")
    return None
