"""Has the liquid probe come off? Over the last hour of minutes, plain Python.

A probe in air reaches the air's temperature within minutes; beer takes hours. Beer cannot go most of the way
to the air's temperature within half an hour, however it is cooled or moved.
"""

from collections.abc import Sequence
from dataclasses import dataclass

LEAST_GAP_C = 1.5
REMAINS = 0.3
"""Share of the former gap within which the probe must have come of the air."""

WITHIN_MIN = 30
HOLD_MIN = 4
FASTEST_BEER_H = 1.5
"""No vessel of beer closes a gap with a shorter time constant, even in a draught or a bath."""


@dataclass(frozen=True, slots=True)
class Adrift:
    """gap_c: between beer and room before; minutes: how long the way to the room took."""

    gap_c: float
    minutes: int
    sentence: str


def adrift(liquid_c: Sequence[float | None], air_c: Sequence[float | None]) -> Adrift | None:
    """Both series hold one value a minute, oldest first, ending now; None where nothing was read.

    Looks at up to the last 90 minutes. The gap is measured against the air as it was before: a vessel moved
    on purpose changes the air first, and its beer follows slowly.
    """
    n = min(len(liquid_c), len(air_c), 90)
    liquid, air = list(liquid_c)[-n:], list(air_c)[-n:]
    if n < HOLD_MIN + 12:
        return None
    latest = [
        (p, a)
        for p, a in zip(liquid[-HOLD_MIN:], air[-HOLD_MIN:], strict=True)
        if p is not None and a is not None
    ]
    if len(latest) < HOLD_MIN - 1:
        return None
    for back in range(HOLD_MIN + 2, min(WITHIN_MIN + HOLD_MIN, n - 6)):
        before = [
            (p, a)
            for p, a in zip(liquid[-back - 6 : -back], air[-back - 6 : -back], strict=True)
            if p is not None and a is not None
        ]
        if len(before) < 4:
            continue
        was = sum(p for p, _ in before) / len(before)
        room = sum(a for _, a in before) / len(before)
        gap = was - room
        if abs(gap) < LEAST_GAP_C:
            continue
        still = max(abs(p - was) for p, _ in before)
        if still > 0.12 * abs(gap) + 0.1:
            continue
        sign = 1 if gap > 0 else -1
        # The room itself may not have come to meet the probe.
        met = all(
            abs(p - a) <= max(0.35, REMAINS * abs(gap)) and sign * (was - p) >= (1 - REMAINS) * abs(gap) - 0.1
            for p, a in latest
        )
        # It comes to rest there; beer that is only passing the room's temperature goes on.
        rests = abs(latest[-1][0] - latest[0][0]) <= 0.1 * abs(gap) + 0.06
        stayed = all(abs(a - room) <= 0.35 * abs(gap) for _, a in latest)
        possible = abs(gap) * back / 60 / FASTEST_BEER_H
        if met and rests and stayed and abs(was - latest[-1][0]) > 1.5 * possible:
            return Adrift(
                abs(gap),
                back,
                f"The liquid probe went from {was:.1f} C to the room's {latest[-1][1]:.1f} C "
                f"within {back} minutes: "
                "it has come off the vessel. Put it back.",
            )
    return None
