"""Small steps that keep the beer in its band, each with its computed effect. Plain Python.

Never advised: a shock of more than 2.5 C a day. Effects of cloth and floor are common practice, not measured
here; those of ice, fridge, lagging and room follow from the vessel's own time constant.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from service.thermal import beer
from service.thermal.forecast import STEP_H, Coefficients, Point

MOST_SHOCK_C_PER_DAY = 2.5
ICE_KJ_PER_KG = 453.92
"""From ice at -18 C to water at 20 C (IAPWS)."""

BOTTLE_KG, BOTTLE_SHARE = 0.48, 0.6
"""A frozen half-litre bottle; against the wall, under a cloth, some 0.6 of its cold goes into the beer."""

CLOTH_C, CLOTH_SHARE = 3.0, 0.6
"""A wet cloth in dry room air stays about 3 C below it (common practice) and covers most of the wall."""

FLOOR_C = 0.5
FRIDGE_C, FRIDGE_SHARE = 5.0, 0.8
LAGGED = 2.5


@dataclass(frozen=True, slots=True)
class Advice:
    """kind: `surroundings_c`, `pitch_c`, `wet-cloth`, `frozen-bottle`, `fridge_h`, `lagging`,
    `off-the-floor`, `ice_kg_per_day` or `blow-off`. value: the computed figure, None where there is none.
    """

    kind: str
    value: float | None
    sentence: str


def _worst(points: Sequence[Point], high_c: float | None, low_c: float | None) -> tuple[Point, float] | None:
    """The point farthest outside the band and by how much (positive when warm)."""
    if not points:
        return None
    warm = max(points, key=lambda p: p.temp_c)
    cold = min(points, key=lambda p: p.temp_c)
    if high_c is not None and warm.temp_c > high_c:
        return warm, warm.temp_c - high_c
    if low_c is not None and cold.temp_c < low_c:
        return cold, cold.temp_c - low_c
    return None


def _reaches(c: Coefficients, hours: float) -> float:
    return 1 - math.exp(-max(0.0, hours) / c.tau_h)


def remedies(
    points: Sequence[Point],
    c: Coefficients,
    volume_l: float,
    og: float | None,
    low_c: float | None,
    high_c: float | None,
) -> list[Advice]:
    """What would help against the worst coming hour; empty when the forecast stays in the band.

    points: quarter-hourly, from now on, of the unaided beer.
    """
    worst = _worst(points, high_c, low_c)
    if worst is None:
        return []
    point, by = worst
    hours = (point.at - points[0].at).total_seconds() / 3600
    if by > 0:
        return _cooler(point, by, hours, c, volume_l, og)
    return _warmer(-by, hours, c)


def _cooler(
    point: Point, by: float, hours: float, c: Coefficients, volume_l: float, og: float | None
) -> list[Advice]:
    reach = _reaches(c, max(hours, 3.0))
    needed = by / max(0.15, reach)
    out = [
        Advice(
            "surroundings_c",
            round(needed, 1),
            f"Surroundings {needed:.1f} C cooler from now on would hold it; "
            f"the beer follows in {c.tau_h:.0f} hours.",
        )
    ]
    cloth = CLOTH_C * CLOTH_SHARE * reach
    out.append(
        Advice(
            "wet-cloth",
            round(-cloth, 1),
            f"A wet cloth kept wet, with a fan if there is one, takes about {cloth:.1f} C off by then.",
        )
    )
    capacity_kj = beer.heat_capacity_wh_per_k(volume_l, og or 1.045) * 3.6
    bottle = BOTTLE_KG * ICE_KJ_PER_KG * BOTTLE_SHARE / capacity_kj
    count = max(1, math.ceil(by / bottle))
    if bottle > MOST_SHOCK_C_PER_DAY:
        out.append(
            Advice(
                "frozen-bottle",
                None,
                f"A frozen bottle would cool {volume_l:.0f} l too suddenly: use the cloth.",
            )
        )
    else:
        a_day = max(1, math.floor(MOST_SHOCK_C_PER_DAY / bottle))
        look = 4 if count <= a_day else 3
        out.append(
            Advice(
                "frozen-bottle",
                round(-bottle, 1),
                f"One frozen half-litre bottle against the vessel, under the cloth, takes about "
                f"{bottle:.1f} C off; "
                f"at most {a_day} a day. Look again in {look} hours.",
            )
        )
    if by > 0.5:
        want = min(by + 0.3, MOST_SHOCK_C_PER_DAY)
        pull = max(1.0, point.temp_c - FRIDGE_C)
        time_h = -c.tau_h * FRIDGE_SHARE * math.log(max(0.05, 1 - want / pull))
        out.append(
            Advice(
                "fridge_h",
                math.floor(time_h * 10) / 10,
                f"About {time_h:.1f} hours in a fridge at {FRIDGE_C:.0f} C take {want:.1f} C off; "
                "no more in a day.",
            )
        )
    return out


def _warmer(by: float, hours: float, c: Coefficients) -> list[Advice]:
    reach = _reaches(c, max(hours, 3.0))
    needed = by / max(0.15, reach)
    floor = FLOOR_C * reach
    # Lagging slows the fall: what is lost until then shrinks by this share.
    slower = 1 - _reaches(Coefficients(c.tau_h * LAGGED, 0, 0, 0, (), 0), max(hours, 3.0)) / max(0.05, reach)
    return [
        Advice(
            "surroundings_c",
            round(needed, 1),
            f"Surroundings {needed:.1f} C warmer from now on would hold it; "
            f"the beer follows in {c.tau_h:.0f} hours.",
        ),
        Advice(
            "off-the-floor",
            round(floor, 1),
            f"Lifted off a cold floor onto wood or foam it stays about {floor:.1f} C warmer by then.",
        ),
        Advice(
            "lagging",
            round(100 * slower),
            f"Wrapped in a thick coat it loses about {100 * slower:.0f} % less by then.",
        ),
    ]


def blow_off(c: Coefficients, points: Sequence[Point], filled_share: float | None = None) -> Advice | None:
    """Foam may overflow: the strongest hours come within a day, or the vessel is nearly full."""
    if len(c.heat_kh) < 3:
        return None
    day = c.heat_kh[:25]
    strongest = max(day)
    # 0.15 K/h is some 12 points a day: vigorous for beers of usual strength.
    strong = strongest > (0.10 if filled_share is not None and filled_share > 0.85 else 0.15)
    warm = max((p.temp_c for p in points[: int(24 / STEP_H)]), default=0.0) > 23.0
    if strong and (day.index(strongest) > 0 or warm):
        return Advice("blow-off", None, "Foam may overflow in the coming day: fit a blow-off tube tonight.")
    return None
