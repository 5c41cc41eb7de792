"""An opened bottle's gravity against the beer that went in: did more ferment than the priming sugar?"""

from dataclasses import dataclass

from service.brewing.priming import VOLUMES_PER_POINT
from service.brewing.safety import OVER_PRESSURED_CRATE
from service.brewing.working import Interval, Quantity, Working

FELL_PT = 1.0
"""The least fall worth a warning, points: what half a volume of gas comes from."""


@dataclass(frozen=True, slots=True)
class Opened:
    """fell_pt: by how much the bottle lies below what went in, points, and its 90 % interval.

    fell: whether it surely fell. volumes: gas that a fall of so much makes beside the sugar's.
    """

    fell_pt: Interval
    fell: bool
    volumes: float
    sentence: str
    cautions: tuple[str, ...]
    working: Working


def opened(
    *, before_sg: float, before_low: float, before_high: float, sg: float, low: float, high: float
) -> Opened:
    """Compares a degassed bottle (sg, low, high) with the last reading before it was packaged.

    Gravities SG with the ends of their 90 % intervals. The priming sugar is not in the reading before, and
    has fermented away after three warm weeks, so both should agree.
    """
    fall = 1000 * (before_sg - sg)
    half = 1000 * ((before_high - before_low) ** 2 + (high - low) ** 2) ** 0.5 / 2
    fell = fall - half > 0 and fall >= FELL_PT
    volumes = max(0.0, fall) * VOLUMES_PER_POINT
    if fell:
        sentence = (
            f"The bottle lies {fall:.1f} points below the beer that went in: about {volumes:.1f} volumes of "
            "gas beside the sugar's. It goes on fermenting in the bottles. Take the crate for over-pressured."
        )
    elif fall >= FELL_PT:
        sentence = (
            f"The bottle reads {fall:.1f} points lower, which two readings can differ by. "
            "Open and measure another in a week, and keep the crate cool and covered until then."
        )
    elif fall <= -half:
        sentence = (
            f"The bottle lies {-fall:.1f} points above the beer that went in: sugar is left, or gas in the "
            "sample. Stir the gas out and measure again; keep the bottles warm if they are flat."
        )
    else:
        sentence = "The bottle agrees with the beer that went in: nothing but the sugar has fermented."
    return Opened(
        fell_pt=Interval(fall, fall - half, fall + half),
        fell=fell,
        volumes=volumes,
        sentence=sentence,
        cautions=OVER_PRESSURED_CRATE if fell else (),
        working=Working(
            formula=f"fall = before - bottle; gas = fall x {VOLUMES_PER_POINT:.2f} volumes a point",
            inputs=(Quantity("before", before_sg, "SG"), Quantity("bottle", sg, "SG")),
            source="mass balance; that the sugar is gone after three warm weeks: common practice",
            limits="A bottle that was not stirred free of gas reads too high and hides a fall.",
        ),
    )
