"""The mash: how hot the strike water, how much hot water or flame lifts a mash that fell."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from service.brewing.ranges import (
    GRAIN_C,
    GRAIN_KG,
    HOT_WATER_C,
    MASH_C,
    MASH_WATER_L,
    MINUTES,
    RISE_C,
    STOVE_GRAIN_KG,
    refuse_if,
    within,
)
from service.brewing.working import Z90, Interval, Quantity, Working
from service.errors import InvalidInputError, Problem

DRY_MALT_HEAT = 0.39
"""Specific heat of malt against water's (Pauls & Whites 1984/85, as quoted)."""
SLAKING_C = 2.3
"""What wetting malt of 2 % moisture adds to the mash, C (the same); moister malt gives less."""
WET_MALT_HEAT = 0.40
"""Specific heat of the malt already mashed, against water's; common practice."""
WATER_KJ_PER_KG_K = 4.18
STIR = "A bag mash differs by several degrees from top to bottom: stir before believing the probe."


@dataclass(frozen=True, slots=True)
class Strike:
    """Temperature of the water to pour on, C; low and high: its 90 % interval."""

    water_c: float
    low: float
    high: float
    working: Working


@dataclass(frozen=True, slots=True)
class MashLift:
    """Litres of hot water (measured cold: kilograms) to add; low and high: its 90 % interval."""

    litres: float
    low: float
    high: float
    working: Working


@dataclass(frozen=True, slots=True)
class Heating:
    """One remembered heating on this stove: what stood on it, how long, how many degrees it rose."""

    grain_kg: float
    water_l: float
    minutes: float
    rise_c: float


@dataclass(frozen=True, slots=True)
class Flame:
    """Minutes of the same flame, and the heat that reached the mash, watts, learned from this stove."""

    minutes: Interval
    heat_w: float
    working: Working


def mash_temp_c(*, grain_kg: float, water_l: float, grain_c: float, water_c: float) -> float:
    """Temperature of the mash after mixing, C, before pot and spoon take their part."""
    malt = DRY_MALT_HEAT * grain_kg
    return (malt * grain_c + water_l * water_c) / (malt + water_l) + SLAKING_C


def strike(*, grain_kg: float, water_l: float, grain_c: float, mash_c: float) -> Strike:
    """Strike water temperature for a mash at mash_c.

    grain_kg at grain_c (C); water_l: litres measured cold. Raises InvalidInputError, also when the
    water would have to boil.
    """
    refuse_if(
        within("/grain_kg", grain_kg, GRAIN_KG),
        within("/water_l", water_l, MASH_WATER_L),
        within("/grain_c", grain_c, GRAIN_C),
        within("/mash_c", mash_c, MASH_C),
    )
    mixed_c = mash_c - SLAKING_C
    water_c = mixed_c + DRY_MALT_HEAT * grain_kg / water_l * (mixed_c - grain_c)
    if water_c > HOT_WATER_C.high:
        raise InvalidInputError(
            Problem(
                "/water_l",
                f"{water_l:g} L on {grain_kg:g} kg would have to be at {water_c:.0f} C.",
                "Take more water, warmer grain or a lower mash temperature.",
            )
        )
    half = Z90 * math.hypot(0.7, 0.04 * grain_kg / water_l * (mixed_c - grain_c))
    return Strike(
        water_c=water_c,
        low=water_c - half,
        high=water_c + half,
        working=Working(
            formula=(
                "water = M + 0.39 x grain / water x (M - grain temperature), "
                "M = mash temperature - 2.3 (heat of wetting)"
            ),
            inputs=(
                Quantity("grain", grain_kg, "kg"),
                Quantity("water", water_l, "L"),
                Quantity("grain temperature", grain_c, "C"),
                Quantity("mash", mash_c, "C"),
            ),
            source=(
                "heat balance; malt 0.39 and wetting 2.3 C at 2 % moisture: Pauls & Whites 1984/85, as quoted"
            ),
            limits=(
                "Pot and spoon not counted: warm the pot with the water. Moister malt wants up to 1 C more; "
                f"interval (90 %) from that and from mixing, an estimate. {STIR} Hot water scalds."
            ),
        ),
    )


def mash_lift(
    *,
    grain_kg: float,
    water_l: float,
    from_c: float,
    to_c: float,
    hot_c: float,
    malt_heat: float = WET_MALT_HEAT,
) -> MashLift:
    """Hot water that lifts a mash from from_c to to_c (C).

    water_l: litres in the mash now. hot_c: temperature of the water to add. malt_heat: specific heat of
    the malt against water's. Raises InvalidInputError.
    """
    refuse_if(
        within("/grain_kg", grain_kg, GRAIN_KG),
        within("/water_l", water_l, MASH_WATER_L),
        within("/from_c", from_c, MASH_C),
        within("/to_c", to_c, MASH_C),
        within("/hot_c", hot_c, HOT_WATER_C),
    )
    if to_c < from_c:
        raise InvalidInputError(
            Problem("/to_c", f"{to_c:g} C is below the {from_c:g} C of the mash.", "A lift goes up.")
        )
    if hot_c < to_c + 2:
        raise InvalidInputError(
            Problem("/hot_c", f"Water at {hot_c:g} C cannot lift a mash to {to_c:g} C.", "Heat it further.")
        )
    litres = (malt_heat * grain_kg + water_l) * (to_c - from_c) / (hot_c - to_c)
    half = Z90 * 0.08 * litres
    return MashLift(
        litres=litres,
        low=litres - half,
        high=litres + half,
        working=Working(
            formula="litres = (0.40 x grain + water) x (to - from) / (hot - to)",
            inputs=(
                Quantity("grain", grain_kg, "kg"),
                Quantity("water in the mash", water_l, "L"),
                Quantity("from", from_c, "C"),
                Quantity("to", to_c, "C"),
                Quantity("hot water", hot_c, "C"),
            ),
            source="heat balance; wetted malt 0.40 of water's heat: common practice",
            limits=(
                "Litres measured cold. Pot and loss not counted; interval (90 %): 8 % standard deviation, an "
                f"estimate. Add in thirds and stir. {STIR} Hot water scalds."
            ),
        ),
    )


def flame(
    *, grain_kg: float, water_l: float, from_c: float, to_c: float, heatings: Sequence[Heating]
) -> Flame:
    """Minutes of flame that lift a mash, as learned from earlier heatings with the same flame.

    grain_kg and water_l: in the pot now. from_c, to_c: C. Raises InvalidInputError.
    """
    refuse_if(
        within("/grain_kg", grain_kg, GRAIN_KG),
        within("/water_l", water_l, MASH_WATER_L),
        within("/from_c", from_c, MASH_C),
        within("/to_c", to_c, MASH_C),
        *(within(f"/heatings/{n}/water_l", h.water_l, MASH_WATER_L) for n, h in enumerate(heatings)),
        *(within(f"/heatings/{n}/minutes", h.minutes, MINUTES) for n, h in enumerate(heatings)),
        *(within(f"/heatings/{n}/rise_c", h.rise_c, RISE_C) for n, h in enumerate(heatings)),
        *(within(f"/heatings/{n}/grain_kg", h.grain_kg, STOVE_GRAIN_KG) for n, h in enumerate(heatings)),
    )
    if not heatings:
        raise InvalidInputError(
            Problem("/heatings", "This stove has not been seen heating yet.", "Note one heating first.")
        )
    if to_c < from_c:
        raise InvalidInputError(
            Problem("/to_c", f"{to_c:g} C is below the {from_c:g} C of the mash.", "A lift goes up.")
        )
    watts = [_kj_per_k(h.grain_kg, h.water_l) * h.rise_c / (h.minutes * 60) * 1000 for h in heatings]
    mean_w = sum(watts) / len(watts)
    share = _spread_share(watts, mean_w)
    minutes = _kj_per_k(grain_kg, water_l) * (to_c - from_c) * 1000 / mean_w / 60
    return Flame(
        minutes=Interval(minutes, minutes / (1 + share), minutes * (1 + share)),
        heat_w=mean_w,
        working=Working(
            formula="heat = (0.40 x grain + water) x 4.18 x rise / time; minutes = heat needed / mean heat",
            inputs=(
                Quantity("grain", grain_kg, "kg"),
                Quantity("water", water_l, "L"),
                Quantity("from", from_c, "C"),
                Quantity("to", to_c, "C"),
                Quantity("heatings seen", float(len(watts))),
                Quantity("mean heat", mean_w, "W"),
            ),
            source="heat balance on this stove's own earlier heatings",
            limits=f"The same flame and pot. Keep stirring: the bottom scorches and reads high. {STIR}",
        ),
    )


def _kj_per_k(grain_kg: float, water_l: float) -> float:
    return (WET_MALT_HEAT * grain_kg + water_l) * WATER_KJ_PER_KG_K


def _spread_share(watts: list[float], mean_w: float) -> float:
    """90 % half width of the next heating, as a share; one heating alone is taken to be good to 20 %."""
    n = len(watts)
    if n == 1:
        return Z90 * 0.20
    sd = math.sqrt(sum((w - mean_w) ** 2 for w in watts) / (n - 1)) / mean_w
    # With few heatings their own spread says little: never believe less than 8 %.
    return Z90 * max(0.08, sd) * math.sqrt(1 + 1 / n)
