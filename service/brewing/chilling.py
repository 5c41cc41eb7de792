"""Cooling the wort: how much ice, and when fresh water in the bath pays."""

import math
from dataclasses import dataclass

from service.brewing.ranges import (
    BATH_C,
    DURATION_S,
    ICE_C,
    ORIGINAL_SG,
    TARGET_C,
    VOLUME_L,
    WORT_C,
    refuse_if,
    within,
)
from service.brewing.sucrose import density_from_sg
from service.brewing.water import water_density_kg_per_m3
from service.brewing.working import Quantity, Working
from service.errors import InvalidInputError, Problem

WORT_KJ_PER_KG_K = 3.95
"""Specific heat of wort, kJ/(kg K), within 3 %."""
WORT_UNCERTAINTY = 0.03
FUSION_KJ_PER_KG = 333.46
"""Heat of fusion of ice at 0 C (IAPWS)."""
WATER_KJ_PER_KG_K = 4.18
MOST_FILLS = 20
CHANGING_TAKES_S = 120.0
"""Time in which a bath is emptied and filled again, s; an estimate."""


@dataclass(frozen=True, slots=True)
class Ice:
    """Ice that must melt to take up the wort's heat, kg: at least this. low and high: its 90 % interval."""

    kg: float
    low: float
    high: float
    working: Working


@dataclass(frozen=True, slots=True)
class WaterChange:
    """Whether fresh water gets the wort to its target sooner.

    keep_s: seconds to the target with the water as it is; None when this water never gets there.
    settles_at_c: where wort and this water meet. change_after_s: the best moment, in seconds from now;
    when one change is not enough, the moment at which four fifths of this water's way are done.
    changed_s: seconds to the target, changing once then; None when one change does not get there.
    fills_needed: fresh fills until the target can be reached, 0 with the water as it is; None: never.
    """

    pays: bool
    keep_s: float | None
    settles_at_c: float
    change_after_s: float | None
    changed_s: float | None
    fills_needed: int | None
    working: Working


def ice_to_water_kj_per_kg(ice_c: float, water_c: float) -> float:
    """Heat that ice at ice_c takes up until it is water at water_c, kJ/kg (fits to IAPWS within 0.15 %)."""
    warming = 2.096 * -ice_c - 0.00375 * ice_c * ice_c
    water = water_c * (4.2160 - 0.00110 * water_c + 0.0000095 * water_c * water_c)
    return warming + FUSION_KJ_PER_KG + water


def ice(*, volume_l: float, og: float, from_c: float, to_c: float, ice_c: float = 0.0) -> Ice:
    """Ice that brings wort from from_c to to_c, melting and warming to to_c in the bath or the wort.

    volume_l: wort measured at 20 C. og: its SG. ice_c: temperature of the ice. Raises InvalidInputError.
    """
    refuse_if(
        within("/volume_l", volume_l, VOLUME_L),
        within("/og", og, ORIGINAL_SG),
        within("/from_c", from_c, WORT_C),
        within("/to_c", to_c, TARGET_C),
        within("/ice_c", ice_c, ICE_C),
    )
    if to_c > from_c:
        raise InvalidInputError(
            Problem(
                "/to_c",
                f"Ice only cools: {to_c:g} C is warmer than the {from_c:g} C of the wort.",
                "Swap them?",
            )
        )
    wort_kg = volume_l * density_from_sg(og) / 1000
    kg = wort_kg * WORT_KJ_PER_KG_K * (from_c - to_c) / ice_to_water_kj_per_kg(ice_c, to_c)
    return Ice(
        kg=kg,
        low=kg * (1 - WORT_UNCERTAINTY),
        high=kg * (1 + WORT_UNCERTAINTY),
        working=Working(
            formula=(
                "ice = mass of wort x 3.95 x (from - to) / (warming of the ice to 0 C + 333.46 + "
                "warming of its water to the end temperature)"
            ),
            inputs=(
                Quantity("wort", volume_l, "L"),
                Quantity("gravity", og, "SG"),
                Quantity("from", from_c, "C"),
                Quantity("to", to_c, "C"),
                Quantity("ice", ice_c, "C"),
            ),
            source="ice and water: IAPWS; wort about 3.95 kJ/(kg K) within 3 %",
            limits=(
                "At least this much: pot, tub and air melt some too, and the bath must end as cold as the "
                "wort. Only boiled or bottled water may touch the wort itself."
            ),
        ),
    )


def water_change(
    *,
    volume_l: float,
    og: float = 1.045,
    wort_c: float,
    target_c: float,
    bath_l: float,
    bath_c: float,
    fresh_c: float,
    tau_s: float,
    changing_takes_s: float = CHANGING_TAKES_S,
) -> WaterChange:
    """When to change a bath's water once, on the way to a target.

    volume_l of wort at wort_c stands in bath_l of water at bath_c; fresh water comes at fresh_c (all C).
    tau_s: the time constant toward a bath that keeps its temperature, s (see `cooling`). The bath warms
    by what the wort loses. Raises InvalidInputError.
    """
    refuse_if(
        within("/volume_l", volume_l, VOLUME_L),
        within("/og", og, ORIGINAL_SG),
        within("/wort_c", wort_c, WORT_C),
        within("/target_c", target_c, TARGET_C),
        within("/bath_l", bath_l, VOLUME_L),
        within("/bath_c", bath_c, BATH_C),
        within("/fresh_c", fresh_c, BATH_C),
        within("/tau_s", tau_s, DURATION_S),
        within("/changing_takes_s", changing_takes_s, DURATION_S),
    )
    wort_kj_per_k = volume_l * density_from_sg(og) / 1000 * WORT_KJ_PER_KG_K
    bath_kj_per_k = bath_l * water_density_kg_per_m3(20) / 1000 * WATER_KJ_PER_KG_K
    pair = _Pair(wort_kj_per_k, bath_kj_per_k, tau_s)
    keep_s = pair.seconds_to(target_c, wort_c, bath_c)
    fills = pair.fills_needed(target_c, wort_c, bath_c, fresh_c)
    best = _best_single_change(pair, target_c, wort_c, bath_c, fresh_c, changing_takes_s)
    pays = fills is not None and (keep_s is None or (best is not None and best[1] < keep_s))
    after_s = None
    if pays:
        after_s = best[0] if best is not None else pair.seconds_for_share(0.8)
    return WaterChange(
        pays=pays,
        keep_s=keep_s,
        settles_at_c=pair.settles_at(wort_c, bath_c),
        change_after_s=after_s,
        changed_s=best[1] if best is not None else None,
        fills_needed=fills,
        working=Working(
            formula=(
                "wort and bath meet at (Cw Tw + Cb Tb)/(Cw + Cb), their difference falling as "
                "exp(-t (1 + Cw/Cb)/tau); the moment of one change is tried over the whole way"
            ),
            inputs=(
                Quantity("wort", volume_l, "L"),
                Quantity("wort now", wort_c, "C"),
                Quantity("target", target_c, "C"),
                Quantity("bath", bath_l, "L"),
                Quantity("bath now", bath_c, "C"),
                Quantity("fresh water", fresh_c, "C"),
                Quantity("time constant", tau_s, "s"),
                Quantity("changing takes", changing_takes_s, "s"),
            ),
            source="Newton's law of cooling for two bodies; heat balance",
            limits="Both stirred, and no heat lost to the room: the real way is a little shorter.",
        ),
    )


def _best_single_change(
    pair: "_Pair", target_c: float, wort_c: float, bath_c: float, fresh_c: float, changing_takes_s: float
) -> tuple[float, float] | None:
    """Moment of the change and time to the target with it, both s; None when one change is not enough."""
    keep_s = pair.seconds_to(target_c, wort_c, bath_c)
    horizon_s = keep_s if keep_s is not None else 8 * pair.tau_s
    best: tuple[float, float] | None = None
    for n in range(201):
        after_s = horizon_s * n / 200
        left_s = pair.seconds_to(target_c, pair.wort_after(after_s, wort_c, bath_c), fresh_c)
        if left_s is None:
            continue
        total_s = after_s + changing_takes_s + left_s
        if best is None or total_s < best[1]:
            best = (after_s, total_s)
    return best


@dataclass(frozen=True, slots=True)
class _Pair:
    """Wort and bath exchanging heat with each other only."""

    wort_kj_per_k: float
    bath_kj_per_k: float
    tau_s: float

    def settles_at(self, wort_c: float, bath_c: float) -> float:
        total = self.wort_kj_per_k + self.bath_kj_per_k
        return (self.wort_kj_per_k * wort_c + self.bath_kj_per_k * bath_c) / total

    def _rate_per_s(self) -> float:
        return (1 + self.wort_kj_per_k / self.bath_kj_per_k) / self.tau_s

    def wort_after(self, seconds: float, wort_c: float, bath_c: float) -> float:
        end_c = self.settles_at(wort_c, bath_c)
        return end_c + (wort_c - end_c) * math.exp(-self._rate_per_s() * seconds)

    def seconds_to(self, target_c: float, wort_c: float, bath_c: float) -> float | None:
        if wort_c <= target_c:
            return 0.0
        end_c = self.settles_at(wort_c, bath_c)
        if end_c >= target_c:
            return None
        return math.log((wort_c - end_c) / (target_c - end_c)) / self._rate_per_s()

    def seconds_for_share(self, share: float) -> float:
        return -math.log(1 - share) / self._rate_per_s()

    def fills_needed(self, target_c: float, wort_c: float, bath_c: float, fresh_c: float) -> int | None:
        if fresh_c >= target_c and self.settles_at(wort_c, bath_c) >= target_c:
            return None
        settled_c = self.settles_at(wort_c, bath_c)
        fills = 0
        while settled_c >= target_c and wort_c > target_c and fills < MOST_FILLS:
            settled_c = self.settles_at(settled_c, fresh_c)
            fills += 1
        return fills if settled_c < target_c or wort_c <= target_c else None
