"""Gravity from the fermenter's loss of weight: what left is carbon dioxide."""

import math
from dataclasses import dataclass

from service.brewing.alcohol import (
    BALLING_SOURCE,
    CO2_PER_ETHANOL,
    CO2_PER_EXTRACT,
    YEAST_PER_ETHANOL,
    apparent_extract_plato,
    extract_fermented_g,
)
from service.brewing.carbonation import G_PER_VOLUME, residual_volumes
from service.brewing.ranges import BEER_C, FERMENTED_OG, LOST_G, SG, VOLUME_L, refuse_if, within
from service.brewing.sucrose import density_from_sg, plato_from_sg, sg_from_plato
from service.brewing.working import Z90, Quantity, Working
from service.errors import InvalidInputError, Problem

OG_SD_PT = 0.7
"""Standard deviation of the original gravity, points: one hydrometer reading."""
VOLUME_SD_SHARE = 0.02
"""Standard deviation of the volume, as a share; an estimate."""
SCALE_SD_G = 3.0
"""Standard deviation of the difference of two weighings, grams; an estimate for a kitchen scale."""
GAS_SD_SHARE = 0.02
"""Standard deviation of gas against extract: Balling's yield, and vapour that leaves with the gas."""


@dataclass(frozen=True, slots=True)
class WeightLoss:
    """Gravity that goes with the mass lost, SG 20/20, and its 90 % interval.

    gas_made_g: all carbon dioxide made so far, grams; dissolved_g: what of it is still in the beer.
    """

    sg: float
    low: float
    high: float
    gas_made_g: float
    dissolved_g: float
    working: Working


def weight_loss(*, og: float, volume_l: float, lost_g: float, temp_c: float = 20.0) -> WeightLoss:
    """Present gravity from the mass the whole fermenter has lost since pitching.

    og: original gravity, SG 20/20. volume_l: wort measured at 20 C. lost_g: grams lost; what was added or
    taken out since must be counted in by the caller. temp_c: the beer now, C; it holds the more gas the
    colder it is. Raises InvalidInputError, also when this wort cannot lose so much.
    """
    refuse_if(
        within("/og", og, FERMENTED_OG),
        within("/volume_l", volume_l, VOLUME_L),
        within("/lost_g", lost_g, LOST_G),
        within("/temp_c", temp_c, BEER_C),
    )
    saturated_g = residual_volumes(temp_c) * G_PER_VOLUME * volume_l
    # Young beer is not full yet: it keeps part of the first gas and gives the rest away.
    dissolved_g = saturated_g * (1 - math.exp(-lost_g / saturated_g))
    made_g = lost_g + dissolved_g
    sg = _sg_after(og, volume_l, made_g)
    if sg is None:
        most_g = _most_gas_g(og, volume_l) - saturated_g
        raise InvalidInputError(
            Problem(
                "/lost_g",
                f"{volume_l:g} L of {og:.3f} can lose {most_g:.0f} g at the very most, not {lost_g:g} g.",
                "Check the volume, the units (grams) and what was taken out or added.",
            )
        )
    fallen_pt = (og - sg) * 1000
    per_g = fallen_pt / made_g if made_g > 0 else 0.0
    sd_pt = math.hypot(
        OG_SD_PT,
        fallen_pt * math.hypot(VOLUME_SD_SHARE, GAS_SD_SHARE),
        max(per_g, 1 / volume_l) * SCALE_SD_G,
        per_g * 0.2 * saturated_g,
    )
    half = Z90 * sd_pt / 1000
    return WeightLoss(
        sg=sg,
        low=sg - half,
        high=sg + half,
        gas_made_g=made_g,
        dissolved_g=dissolved_g,
        working=Working(
            formula=(
                "extract fermented = (lost + dissolved gas) / 0.4629; beer = wort - gas - yeast; "
                "RE = extract left / beer; AE = (RE - 0.1808 OE) / 0.8192; SG from AE"
            ),
            inputs=(
                Quantity("og", og, "SG"),
                Quantity("volume", volume_l, "L"),
                Quantity("lost", lost_g, "g"),
                Quantity("dissolved", dissolved_g, "g"),
                Quantity("beer", temp_c, "C"),
            ),
            source=f"{BALLING_SOURCE}; dissolved gas: Weiss 1974",
            limits=(
                f"Interval (90 %) from {OG_SD_PT} point in og, {100 * VOLUME_SD_SHARE:g} % of volume, "
                f"{SCALE_SD_G:g} g of scale and {100 * GAS_SD_SHARE:g} % of gas, one standard deviation "
                "each. Weigh with the same airlock and lid; blow-off and samples taken count as lost."
            ),
        ),
    )


def _sg_after(og: float, volume_l: float, made_g: float) -> float | None:
    """SG when so much gas has been made; None where the extract does not suffice."""
    wort_g = volume_l * density_from_sg(og)
    original = plato_from_sg(og)
    extract_g = wort_g * original / 100 - made_g / CO2_PER_EXTRACT
    if extract_g < 0:
        return None
    beer_g = wort_g - made_g * (1 + YEAST_PER_ETHANOL / CO2_PER_ETHANOL)
    apparent = apparent_extract_plato(original, 100 * extract_g / beer_g)
    sg = sg_from_plato(apparent)
    return sg if sg >= SG.low else None


def _most_gas_g(og: float, volume_l: float) -> float:
    return volume_l * density_from_sg(og) * plato_from_sg(og) / 100 * CO2_PER_EXTRACT


def gas_made_g(*, og: float, sg: float, volume_l: float) -> float:
    """Grams of carbon dioxide made while volume_l of wort (at 20 C) fell from og to sg (Balling)."""
    wort_g = volume_l * density_from_sg(og)
    return extract_fermented_g(plato_from_sg(og), plato_from_sg(sg), wort_g) * CO2_PER_EXTRACT
