"""A probe's calibration: a straight line through one to three points. Pure.

What is stored stays raw; the line is applied before judging and when minutes are read.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

MOST_C = 5.0
"""A correction beyond this is no calibration but a mistake or a broken probe."""

SPREAD_C = 20.0
"""Points nearer to each other than this give an offset only: with references good to 0.2 C they would
settle a slope to no better than one in a hundred, a whole degree at the boil."""

MOST_POINTS = 3

_LEAST_C, _GREATEST_C = 0.0, 100.0
_STEP_C = 0.0625 / math.sqrt(12)
"""What steps of a sixteenth leave unknown, as a standard uncertainty (rectangular distribution)."""

_BEND_C = 0.1
"""How far a part may bend away from a straight line between far points (common practice, from the typical
error curve of a DS18B20; no source at hand)."""


class CalibrationRefusedError(ValueError):
    """The points make no calibration; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class Point:
    """The probe read reading_c where it truly was reference_c; uncertainty_c (one standard deviation) is
    how well the reference is known: 0.1 C for a good slush of crushed ice and water."""

    reading_c: float
    reference_c: float
    uncertainty_c: float = 0.1


@dataclass(frozen=True, slots=True)
class Line:
    """True temperature = slope * raw + offset_c, valid from from_at (aware UTC; None for always).

    uncertainty_c: half of the interval that holds nine in ten true values, near the points it came from.
    """

    slope: float
    offset_c: float
    uncertainty_c: float
    from_at: datetime | None = None


IDENTITY = Line(1.0, 0.0, 0.5)
"""No calibration: the part's own accuracy, +/-0.5 C from -10 to 85 C (DS18B20 datasheet)."""


def apply(line: Line, raw_c: float) -> float:
    """The calibrated temperature, in degrees Celsius."""
    return line.slope * raw_c + line.offset_c


def accuracy_c(temp_c: float) -> float:
    """How far the part may be off: 0.5 C from -10 to 85 C, else 2 C (DS18B20 datasheet)."""
    return 0.5 if -10.0 <= temp_c <= 85.0 else 2.0


def fit(points: Sequence[Point], from_at: datetime) -> Line:
    """The line through one to three points: an offset from one, or from several close together; else the
    least-squares line. from_at: aware UTC.

    Raises CalibrationRefusedError when there are none or too many, when a number is none, or when the
    correction is beyond 5 C at a point or anywhere between freezing and boiling.
    """
    if from_at.tzinfo is None:
        raise ValueError("from_at needs a time zone")
    _check(points)
    readings = [point.reading_c for point in points]
    middle_c = sum(readings) / len(points)
    offset_c = sum(point.reference_c - point.reading_c for point in points) / len(points)
    slope = 1.0
    if max(readings) - min(readings) >= SPREAD_C:
        squares = sum((reading - middle_c) ** 2 for reading in readings)
        slope += sum((p.reading_c - middle_c) * (p.reference_c - p.reading_c) for p in points) / squares
    at_zero_c = offset_c - (slope - 1.0) * middle_c
    line = Line(slope, at_zero_c, _uncertainty(points, slope, at_zero_c), from_at)
    for raw_c in (_LEAST_C, _GREATEST_C):
        if abs(apply(line, raw_c) - raw_c) > MOST_C:
            raise CalibrationRefusedError(
                f"This line would correct by more than {MOST_C:g} C at {raw_c:g} C. "
                "Measure again, with one point in ice water and one as warm as you can."
            )
    return line


def _check(points: Sequence[Point]) -> None:
    if not 1 <= len(points) <= MOST_POINTS:
        raise CalibrationRefusedError(f"A calibration takes 1 to {MOST_POINTS} points, not {len(points)}.")
    for point in points:
        if not all(map(math.isfinite, (point.reading_c, point.reference_c, point.uncertainty_c))):
            raise CalibrationRefusedError("A calibration point must be made of numbers.")
        if point.uncertainty_c < 0:
            raise CalibrationRefusedError("The uncertainty of a calibration point cannot be negative.")
        off_c = point.reference_c - point.reading_c
        if abs(off_c) > MOST_C:
            raise CalibrationRefusedError(
                f"The probe read {point.reading_c:.1f} C where it should be {point.reference_c:.1f} C: more "
                f"than {MOST_C:g} C off. Check the reference; if it is right, the probe is broken."
            )


def _uncertainty(points: Sequence[Point], slope: float, at_zero_c: float) -> float:
    """Half of the nine-in-ten interval: reference, steps, bend and what the line leaves over, combined as
    the Guide to the Expression of Uncertainty in Measurement (JCGM 100) does, times 1.645."""
    reference = max(point.uncertainty_c for point in points)
    left_over = max(abs(slope * p.reading_c + at_zero_c - p.reference_c) for p in points)
    return 1.645 * math.sqrt(reference**2 + _STEP_C**2 + _BEND_C**2 + left_over**2)


def warnings(points: Sequence[Point], line: Line) -> tuple[str, ...]:
    """Sentences about points that do not fit the part (further off than it may be) or the line."""
    found = []
    for point in points:
        off_c = point.reading_c - point.reference_c
        allowed_c = accuracy_c(point.reference_c)
        if abs(off_c) > allowed_c:
            found.append(
                f"At {point.reference_c:.1f} C the probe reads {off_c:+.2f} C off; a sound part stays within "
                f"{allowed_c:g} C. Check the reference: stir, wait two minutes, and look again."
            )
        left_over_c = apply(line, point.reading_c) - point.reference_c
        if abs(left_over_c) > IDENTITY.uncertainty_c:
            found.append(
                f"The point at {point.reference_c:.1f} C lies {left_over_c:+.2f} C off the line through all "
                "points. Measure it again."
            )
    return tuple(found)
