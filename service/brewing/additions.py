"""What is added on the way: sugar, honey, fruit, lactose, dry hops, water; and where the beer then ends."""

from dataclasses import dataclass

from service.brewing.alcohol import (
    CO2_PER_ETHANOL,
    EXTRACT_PER_ETHANOL,
    YEAST_PER_ETHANOL,
    apparent_extract_plato,
    extract_fermented_g,
)
from service.brewing.ranges import MASS_G, ORIGINAL_SG, SG, SHARE, VOLUME_L, WATER_L, refuse_if, within
from service.brewing.sucrose import density_from_sg, plato_from_sg, sg_from_plato
from service.brewing.water import water_density_kg_per_m3
from service.brewing.working import Quantity, Working
from service.errors import InvalidInputError, Problem

USUAL_ATTENUATION = 0.75
"""Apparent attenuation taken where the expected end is not told: it only sets what dilution does."""
DRY_HOP_POINTS = (1.0, 3.0)
"""Points that dry hops may bring in more fermentation by their enzymes; common practice."""


@dataclass(frozen=True, slots=True)
class Usual:
    """Usual shares of something added: extract of its mass, and what of that ferments; common practice."""

    name: str
    extract_share: float
    fermentable_share: float


USUAL_ADDITIONS = (
    Usual("table sugar", 1.0, 1.0),
    Usual("glucose monohydrate", 0.91, 1.0),
    Usual("honey", 0.82, 0.95),
    Usual("dry malt extract", 0.95, 0.75),
    Usual("liquid malt extract", 0.80, 0.75),
    Usual("fruit, whole", 0.10, 0.90),
    Usual("fruit juice", 0.11, 0.95),
    Usual("lactose", 0.95, 0.0),
    Usual("dry hops", 0.0, 0.0),
)


@dataclass(frozen=True, slots=True)
class Added:
    """og_equivalent: the original gravity as if all had been there from the start, SG 20/20.

    expected_fg_change_pt: how far the expected end moves, points; below zero it ends lower.
    """

    og_equivalent: float
    expected_fg_change_pt: float
    working: Working


def addition(
    *,
    volume_l: float,
    sg: float,
    mass_g: float,
    extract_share: float = 1.0,
    fermentable_share: float = 1.0,
    water_l: float = 0.0,
    expected_fg: float | None = None,
) -> Added:
    """Original gravity and expected end after something was added.

    volume_l: wort or beer at 20 C. sg: its original gravity, SG 20/20. mass_g: grams added, of which
    extract_share is extract, and of that fermentable_share ferments; the rest of the mass counts as
    water. water_l: water added with it. expected_fg: where the beer would have ended without; taken as
    75 % apparent attenuation when None. Raises InvalidInputError.
    """
    refuse_if(
        within("/volume_l", volume_l, VOLUME_L),
        within("/sg", sg, ORIGINAL_SG),
        within("/mass_g", mass_g, MASS_G),
        within("/extract_share", extract_share, SHARE),
        within("/fermentable_share", fermentable_share, SHARE),
        within("/water_l", water_l, WATER_L),
        None if expected_fg is None else within("/expected_fg", expected_fg, SG),
    )
    end_sg = expected_fg if expected_fg is not None else 1 + (1 - USUAL_ATTENUATION) * (sg - 1)
    if end_sg > sg:
        raise InvalidInputError(
            Problem("/expected_fg", f"{end_sg:.3f} is above the original {sg:.3f}.", "Check which is which.")
        )
    wort_g = volume_l * density_from_sg(sg)
    before = plato_from_sg(sg)
    fermented_g = extract_fermented_g(before, plato_from_sg(end_sg), wort_g)
    total_g = wort_g + mass_g + water_l * water_density_kg_per_m3(20)
    extract_g = wort_g * before / 100 + mass_g * extract_share
    after = 100 * extract_g / total_g
    if after > 40:
        raise InvalidInputError(
            Problem(
                "/mass_g",
                f"{mass_g:g} g in {volume_l:g} L would make {after:.0f} degrees Plato, beyond 40.",
                "Check the grams and the litres.",
            )
        )
    fermented_g += mass_g * extract_share * fermentable_share
    end_after = _end_plato(after, extract_g, fermented_g, total_g)
    return Added(
        og_equivalent=sg_from_plato(after),
        expected_fg_change_pt=1000 * (sg_from_plato(end_after) - end_sg),
        working=Working(
            formula=(
                "P = 100 (extract before + mass x extract share) / (wort + mass + water); at the end what "
                "does not ferment is left: AE = (RE - 0.1808 P) / 0.8192"
            ),
            inputs=(
                Quantity("volume", volume_l, "L"),
                Quantity("gravity", sg, "SG"),
                Quantity("added", mass_g, "g"),
                Quantity("extract share", extract_share),
                Quantity("fermentable share", fermentable_share),
                Quantity("water", water_l, "L"),
                Quantity("expected end before", end_sg, "SG"),
            ),
            source="mass balance; Balling's balance; shares of common goods: common practice",
            limits=(
                "As sure as the shares are: fruit differs by a third. Dry hops can bring "
                f"{DRY_HOP_POINTS[0]:g} to {DRY_HOP_POINTS[1]:g} points more of fermentation by themselves "
                "(common practice). Anything added starts the waiting for a steady gravity anew."
            ),
        ),
    )


def _end_plato(original: float, extract_g: float, fermented_g: float, total_g: float) -> float:
    """Apparent extract, degrees Plato, once fermented_g of extract_g in total_g is gone."""
    beer_g = total_g - fermented_g * (CO2_PER_ETHANOL + YEAST_PER_ETHANOL) / EXTRACT_PER_ETHANOL
    real = 100 * (extract_g - fermented_g) / beer_g
    return apparent_extract_plato(original, real)
