"""A refractometer in fermenting beer: alcohol bends light too, and must be taken off."""

import math
from dataclasses import dataclass

from service.brewing.alcohol import EXTRACT_PER_ETHANOL, apparent_extract_plato
from service.brewing.ranges import BRIX, SG, WORT_FACTOR, refuse_if, within
from service.brewing.sucrose import sg_from_plato
from service.brewing.working import Z90, Quantity, Working
from service.errors import InvalidInputError, Problem

USUAL_WORT_FACTOR = 1.04
"""What a refractometer shows in wort over its degrees Plato; common practice, 1.00 to 1.06."""
BRIX_PER_ALCOHOL = 0.43
"""Brix that 1 % of mass of ethanol shows: refractive indices of ethanol-water and sucrose-water (CRC
Handbook, from memory): 4 % ethanol bends as 1.66 % sucrose does, 10 % as 4.45 %."""
BRIX_PER_ALCOHOL_SD = 0.03
READING_SD_BRIX = 0.1
WORT_FACTOR_SD = 0.01


@dataclass(frozen=True, slots=True)
class Refracted:
    """Gravity behind a refractometer reading in fermenting beer, SG 20/20, and its 90 % interval."""

    sg: float
    low: float
    high: float
    working: Working


def refractometer(*, og_brix: float, brix: float, wort_factor: float = USUAL_WORT_FACTOR) -> Refracted:
    """Gravity of beer from its refractometer reading and the one of its unfermented wort.

    og_brix and brix: as read, with temperature compensation, Brix. wort_factor: reading over true
    extract in this brewer's wort. Raises InvalidInputError.
    """
    refuse_if(
        within("/og_brix", og_brix, BRIX),
        within("/brix", brix, BRIX),
        within("/wort_factor", wort_factor, WORT_FACTOR),
    )
    if brix > og_brix:
        raise InvalidInputError(
            Problem("/brix", f"{brix:g} Brix is above the {og_brix:g} of the wort.", "Check which is which.")
        )
    sg = _sg(og_brix, brix, wort_factor, BRIX_PER_ALCOHOL)
    if sg is None:
        raise InvalidInputError(
            Problem(
                "/brix",
                f"{brix:g} Brix from {og_brix:g} would mean a gravity below {SG.low}: no beer ends there.",
                "Check both readings and the zero of the refractometer in water.",
            )
        )
    half = Z90 * _sd(og_brix, brix, wort_factor, sg)
    return Refracted(
        sg=sg,
        low=sg - half,
        high=sg + half,
        working=Working(
            formula=(
                "brix / factor = RE + 0.43 A, with OE = og_brix / factor and Balling's "
                "A = (OE - RE) / (2.0665 - 0.010665 OE), solved for RE; "
                "AE = (RE - 0.1808 OE) / 0.8192; SG from AE"
            ),
            inputs=(
                Quantity("wort", og_brix, "Brix"),
                Quantity("now", brix, "Brix"),
                Quantity("wort factor", wort_factor),
            ),
            source=(
                "refractive indices of ethanol-water and sucrose-water, CRC Handbook (from memory), taken to "
                "add up; Balling's balance"
            ),
            limits=(
                "About 2 points standard deviation in finished beer (the interval shows it). Two unchanged "
                "readings prove that it is steady; one hydrometer reading proves where."
            ),
        ),
    )


def _sg(og_brix: float, brix: float, wort_factor: float, per_alcohol: float) -> float | None:
    original = og_brix / wort_factor
    share = per_alcohol / (EXTRACT_PER_ETHANOL - 0.010665 * original)
    real = (brix / wort_factor - share * original) / (1 - share)
    apparent = apparent_extract_plato(original, real)
    if apparent < -4.0:
        return None
    sg = sg_from_plato(apparent)
    return sg if sg >= SG.low else None


def _sd(og_brix: float, brix: float, wort_factor: float, sg: float) -> float:
    """Standard deviation of the gravity, SG, from those of what went in, each moved by itself."""

    def moved(a: float, b: float, factor: float, per_alcohol: float) -> float:
        other = _sg(a, b, factor, per_alcohol)
        return 0.0 if other is None else other - sg

    return math.hypot(
        moved(og_brix + READING_SD_BRIX, brix, wort_factor, BRIX_PER_ALCOHOL),
        moved(og_brix, brix + READING_SD_BRIX, wort_factor, BRIX_PER_ALCOHOL),
        moved(og_brix, brix, wort_factor + WORT_FACTOR_SD, BRIX_PER_ALCOHOL),
        moved(og_brix, brix, wort_factor, BRIX_PER_ALCOHOL - BRIX_PER_ALCOHOL_SD),
    )
