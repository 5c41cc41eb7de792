"""How much sugar for the bottles, what pressure comes of it, and when not to bottle at all."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from service.brewing.bottle_pressure import USUAL_HEADSPACE_PERCENT, gauge_bar
from service.brewing.carbonation import WEISS_SOURCE, residual_volumes
from service.brewing.ranges import (
    BEER_C,
    BOTTLE_COUNT,
    BOTTLE_L,
    POINTS_LEFT,
    TEN_TEASPOONS_G,
    VOLUME_L,
    VOLUMES,
    refuse_if,
    within,
)
from service.brewing.safety import BOTTLE_CAUTIONS, MOST_VOLUMES, MOST_VOLUMES_STRONGER, OVER_PRESSURED_CRATE
from service.brewing.sugars import (
    TEASPOON_UNCERTAINTY,
    YEAST_KEEPS_SHARE,
    Sugar,
    SugarFacts,
    sugar_facts,
)
from service.brewing.working import Interval, Quantity, Working
from service.errors import InvalidInputError, Problem

VOLUMES_PER_POINT = 0.50
"""Carbonation that one more point of gravity gives when it ferments in the bottle (Balling)."""
RESIDUAL_UNCERTAINTY = 0.10
"""90 % uncertainty of the gas left in the beer, as a share; an estimate."""
MEASURING_UNCERTAINTY = 0.05
"""90 % uncertainty of weighed sugar over measured volume, as a share; an estimate."""
STORAGE_C = (20.0, 30.0, 40.0)
MOST_COMPUTED_VOLUMES = 8.0
"""Above this no pressure is given: no bottle holds it, and the gas law used no longer fits."""


@dataclass(frozen=True, slots=True)
class Bottle:
    """So many bottles of one size, litres."""

    size_l: float
    count: int = 1


@dataclass(frozen=True, slots=True)
class BottleDose:
    """Sugar for each bottle of one size: grams, and level teaspoons; None when refused or not known."""

    size_l: float
    count: int
    grams: float | None
    teaspoons: float | None


@dataclass(frozen=True, slots=True)
class PressureAt:
    """Gauge pressure, bar, at a storage temperature, C, air in the headspace. None: beyond any bottle."""

    at_c: float
    gauge_bar: float | None


@dataclass(frozen=True, slots=True)
class Priming:
    """Sugar by litre, batch and bottle, and what comes of it. Grams are None when `refused` says why."""

    residual_volumes: float
    grams_per_l: float | None
    grams_total: float | None
    bottles: tuple[BottleDose, ...]
    volumes: Interval
    pressure: tuple[PressureAt, ...]
    refused: str | None
    cautions: tuple[str, ...]
    working: Working


def priming(
    *,
    volume_l: float,
    warmest_c: float,
    wanted_volumes: float,
    sugar: str = Sugar.SUCROSE,
    points_left: float = 0.0,
    bottles: Sequence[Bottle] = (),
    ten_teaspoons_g: float | None = None,
    stronger_bottles: bool = False,
) -> Priming:
    """Sugar that brings beer to the wanted carbonation in closed bottles.

    volume_l: beer to be primed. warmest_c: the warmest the beer has been since it stopped fermenting;
    a cold crash afterwards changes nothing. points_left: gravity points still to come, 0 when finished;
    their gas is taken off the sugar, and they are held to be wrong by as much as themselves.
    ten_teaspoons_g: what ten level teaspoons of this sugar weigh, if tried. stronger_bottles: rated by
    their maker for more than 3 volumes. Raises InvalidInputError.
    """
    facts = sugar_facts(sugar)
    _refuse_bad_input(volume_l, warmest_c, wanted_volumes, points_left, tuple(bottles), ten_teaspoons_g)
    residual = residual_volumes(warmest_c)
    to_come = VOLUMES_PER_POINT * points_left
    primed = max(0.0, wanted_volumes - residual - to_come)
    volumes = _interval(residual, primed, to_come, facts)
    refused = _refusal(wanted_volumes, residual, to_come, points_left, stronger=stronger_bottles)
    per_l = None if refused else primed * facts.grams_per_l_per_volume
    return Priming(
        residual_volumes=residual,
        grams_per_l=per_l,
        grams_total=None if per_l is None else per_l * volume_l,
        bottles=tuple(_dose(bottle, per_l, facts, ten_teaspoons_g) for bottle in bottles),
        volumes=volumes,
        pressure=tuple(PressureAt(at_c, _gauge(volumes.value, at_c)) for at_c in STORAGE_C),
        refused=refused,
        cautions=(
            *_cautions(volume_l, wanted_volumes, residual, points_left, tuple(bottles), facts),
            *(("Teaspoons differ by 15 to 20 % with the crystals: weigh ten of yours.",) if bottles else ()),
            *BOTTLE_CAUTIONS,
            *(OVER_PRESSURED_CRATE if refused or volumes.high > MOST_VOLUMES else ()),
        ),
        working=_working(volume_l, warmest_c, wanted_volumes, points_left, facts),
    )


def _refuse_bad_input(
    volume_l: float,
    warmest_c: float,
    wanted_volumes: float,
    points_left: float,
    bottles: tuple[Bottle, ...],
    ten_teaspoons_g: float | None,
) -> None:
    refuse_if(
        within("/volume_l", volume_l, VOLUME_L),
        within("/warmest_c", warmest_c, BEER_C),
        within("/wanted_volumes", wanted_volumes, VOLUMES),
        within("/points_left", points_left, POINTS_LEFT),
        None if ten_teaspoons_g is None else within("/ten_teaspoons_g", ten_teaspoons_g, TEN_TEASPOONS_G),
        *(within(f"/bottles/{n}/size_l", b.size_l, BOTTLE_L) for n, b in enumerate(bottles)),
        *(within(f"/bottles/{n}/count", b.count, BOTTLE_COUNT) for n, b in enumerate(bottles)),
    )
    room_l = sum(b.size_l * b.count for b in bottles)
    if room_l > 1.1 * volume_l + max((b.size_l for b in bottles), default=0.0):
        raise InvalidInputError(
            Problem(
                "/bottles",
                f"The bottles hold {room_l:.1f} L, but there are only {volume_l:.1f} L of beer.",
                "Count only the bottles that will be filled, or correct the volume.",
            )
        )


def _interval(residual: float, primed: float, to_come: float, facts: SugarFacts) -> Interval:
    value = residual + primed + to_come
    common = (RESIDUAL_UNCERTAINTY * residual, to_come)
    spread = math.hypot(MEASURING_UNCERTAINTY, facts.uncertainty)
    return Interval(
        value=value,
        low=max(0.0, value - math.hypot(*common, (spread + YEAST_KEEPS_SHARE) * primed)),
        high=value + math.hypot(*common, spread * primed),
    )


def _refusal(
    wanted: float, residual: float, to_come: float, points_left: float, *, stronger: bool
) -> str | None:
    if wanted > MOST_VOLUMES_STRONGER:
        return (
            f"No amount is given for {wanted:.1f} volumes: {MOST_VOLUMES_STRONGER:.1f} is the most that even "
            "stronger bottles are primed to here. Ask for less."
        )
    if wanted > MOST_VOLUMES and not stronger:
        return (
            f"No amount is given for {wanted:.1f} volumes: more than {MOST_VOLUMES:.1f} is beyond ordinary "
            "bottles, and they burst. Ask for less, or use bottles their maker rates for it."
        )
    if to_come <= 0:
        return None
    if residual + to_come >= wanted:
        return (
            f"Do not bottle yet: what is still to come ({points_left:g} points) brings the beer to "
            f"{residual + to_come:.1f} volumes without any sugar. Wait until the gravity is steady."
        )
    if wanted + to_come > MOST_VOLUMES:
        return (
            f"Do not bottle yet: {points_left:g} points still to come are worth {to_come:.1f} volumes, and "
            f"if there are twice as many the bottles reach {wanted + to_come:.1f}, more than "
            f"{MOST_VOLUMES:.1f}. Wait until the gravity is steady."
        )
    return None


def _dose(
    bottle: Bottle, per_l: float | None, facts: SugarFacts, ten_teaspoons_g: float | None
) -> BottleDose:
    teaspoon_g = facts.teaspoon_g if ten_teaspoons_g is None else ten_teaspoons_g / 10
    grams = None if per_l is None else per_l * bottle.size_l
    teaspoons = None if grams is None or teaspoon_g is None else grams / teaspoon_g
    return BottleDose(bottle.size_l, bottle.count, grams, teaspoons)


def _gauge(volumes: float, at_c: float) -> float | None:
    if volumes > MOST_COMPUTED_VOLUMES:
        return None
    return gauge_bar(volumes, at_c, USUAL_HEADSPACE_PERCENT, headspace_air=True)


def _cautions(
    volume_l: float,
    wanted: float,
    residual: float,
    points_left: float,
    bottles: tuple[Bottle, ...],
    facts: SugarFacts,
) -> list[str]:
    said: list[str] = []
    if points_left > 0:
        said.append(
            f"{points_left:g} points still to come are a guess: each is worth {VOLUMES_PER_POINT:.1f} "
            "volume. It is safer to wait until the gravity is steady."
        )
    if wanted < residual:
        said.append(
            f"The beer already holds {residual:.2f} volumes, more than the {wanted:.2f} wanted: add no sugar."
        )
    if facts.uncertainty > 0.05:
        said.append(f"What {facts.name} gives is uncertain by {100 * facts.uncertainty:.0f} %.")
    room_l = sum(b.size_l * b.count for b in bottles)
    if bottles and room_l < 0.9 * volume_l:
        said.append(
            f"The bottles hold {room_l:.1f} L of {volume_l:.1f} L: dose by bottle, not the whole batch."
        )
    return said


def _working(
    volume_l: float, warmest_c: float, wanted: float, points_left: float, facts: SugarFacts
) -> Working:
    return Working(
        formula=(
            "grams per litre = (wanted - residual - 0.50 x points left) x "
            f"{facts.grams_per_l_per_volume:.3f}; residual = volumes held at 1 atm at the warmest "
            "temperature since the end of fermentation"
        ),
        inputs=(
            Quantity("beer", volume_l, "L"),
            Quantity("warmest since the end of fermentation", warmest_c, "C"),
            Quantity("wanted", wanted, "volumes"),
            Quantity("sugar", facts.name),
            Quantity("gas from it", facts.co2_g_per_g, "g/g"),
            Quantity("points left", points_left, "points"),
        ),
        source=f"{WEISS_SOURCE}; {facts.source}; a point: Balling's balance",
        limits=(
            f"Interval (90 %): residual {100 * RESIDUAL_UNCERTAINTY:g} %, measuring "
            f"{100 * MEASURING_UNCERTAINTY:g} %, the sugar {100 * facts.uncertainty:g} %, up to "
            f"{100 * YEAST_KEEPS_SHARE:.0f} % less gas where yeast grows, points left 100 %; a dose by "
            f"teaspoon adds {100 * TEASPOON_UNCERTAINTY:g} %. Pressures: {USUAL_HEADSPACE_PERCENT:g} % "
            "headspace closed with air."
        ),
    )
