"""Alcohol and attenuation by Balling's balance.

Of 2.0665 g of extract fermented come 1 g of ethanol, 0.9565 g of carbon dioxide and 0.11 g of yeast.
"""

import math
from dataclasses import dataclass

from service.brewing.hydrometer import READING_SD_PT
from service.brewing.ranges import FERMENTED_OG, SG, refuse_if, within
from service.brewing.sucrose import density_from_sg, plato_from_sg
from service.brewing.working import Z90, Quantity, Working
from service.errors import InvalidInputError, Problem

EXTRACT_PER_ETHANOL = 2.0665
"""Grams of real extract fermented for each gram of ethanol (Balling)."""
CO2_PER_ETHANOL = 0.9565
"""Grams of carbon dioxide made with each gram of ethanol (Balling)."""
YEAST_PER_ETHANOL = 0.11
"""Grams of dry yeast grown with each gram of ethanol (Balling)."""
CO2_PER_EXTRACT = CO2_PER_ETHANOL / EXTRACT_PER_ETHANOL
"""Grams of carbon dioxide for each gram of real extract fermented: 0.4629."""
ORIGINAL_SHARE = 0.1808
"""Weight of the original extract in the real extract; the apparent extract has the rest (from memory)."""
ETHANOL_KG_PER_M3 = 789.239
"""Density of pure ethanol at 20 C (OIML R 22)."""
RELATION_SD_PERCENT_VOL = 0.1
"""Scatter of measured beers about the relation, % of volume (Cutaia, Reid, Speers 2009, Table III)."""

BALLING_SOURCE = (
    "Balling's balance as in Nielsen and others, Scandinavian School of Brewing; "
    "real extract weights 0.1808 and 0.8192 from memory"
)


@dataclass(frozen=True, slots=True)
class Alcohol:
    """What became of the extract. Extracts in degrees Plato, attenuations in % of the original extract.

    alcohol_by_volume_low_percent and _high_percent are the 90 % interval of alcohol by volume.
    """

    original_extract_plato: float
    apparent_extract_plato: float
    real_extract_plato: float
    alcohol_by_mass_percent: float
    alcohol_by_volume_percent: float
    alcohol_by_volume_low_percent: float
    alcohol_by_volume_high_percent: float
    apparent_attenuation_percent: float
    real_attenuation_percent: float
    working: Working


def real_extract_plato(original_plato: float, apparent_plato: float) -> float:
    """Extract truly left (g in 100 g of beer), from original and apparent extract, degrees Plato."""
    return ORIGINAL_SHARE * original_plato + (1 - ORIGINAL_SHARE) * apparent_plato


def apparent_extract_plato(original_plato: float, real_plato: float) -> float:
    """What a hydrometer shows, degrees Plato, when so much of the original extract is truly left."""
    return (real_plato - ORIGINAL_SHARE * original_plato) / (1 - ORIGINAL_SHARE)


def alcohol_by_mass_percent(original_plato: float, real_plato: float) -> float:
    """Grams of ethanol in 100 g of beer, from original and real extract in degrees Plato."""
    return (original_plato - real_plato) / (EXTRACT_PER_ETHANOL - 0.010665 * original_plato)


def original_extract_plato(alcohol_percent_mass: float, real_plato: float) -> float:
    """Original extract, degrees Plato, of a beer with this alcohol (% of mass) and real extract."""
    return (
        100
        * (EXTRACT_PER_ETHANOL * alcohol_percent_mass + real_plato)
        / (100 + 1.0665 * alcohol_percent_mass)
    )


def extract_fermented_g(original_plato: float, apparent_plato: float, wort_g: float) -> float:
    """Grams of real extract gone while wort_g grams of wort fell to this apparent extract (Balling)."""
    real = real_extract_plato(original_plato, apparent_plato)
    alcohol_per_100_g = alcohol_by_mass_percent(original_plato, real)
    wort_for_100_g = 100 + alcohol_per_100_g * (CO2_PER_ETHANOL + YEAST_PER_ETHANOL)
    return wort_g * alcohol_per_100_g * EXTRACT_PER_ETHANOL / wort_for_100_g


def volume_percent(mass_percent: float, density_kg_per_m3: float) -> float:
    """Alcohol in % of volume at 20 C, from % of mass and the liquid's own density at 20 C."""
    return mass_percent * density_kg_per_m3 / ETHANOL_KG_PER_M3


def alcohol(*, og: float, fg: float) -> Alcohol:
    """Alcohol and attenuation from original and present gravity, both SG 20/20.

    fg may be a gravity on the way. Raises InvalidInputError, also when fg is above og or lower than
    this wort could reach with all of its extract gone.
    """
    refuse_if(within("/og", og, FERMENTED_OG), within("/fg", fg, SG))
    if fg > og:
        raise InvalidInputError(
            Problem("/fg", f"The gravity {fg:.4f} is above the original {og:.4f}.", "Check which is which.")
        )
    original, apparent = plato_from_sg(og), plato_from_sg(fg)
    real = real_extract_plato(original, apparent)
    if real < 0:
        raise InvalidInputError(
            Problem(
                "/fg",
                f"A wort of {og:.4f} cannot fall to {fg:.4f}: its real extract would be below zero.",
                "Check both readings and the sample's temperature.",
            )
        )
    by_mass = max(0.0, alcohol_by_mass_percent(original, real))
    by_volume = volume_percent(by_mass, density_from_sg(fg))
    half = Z90 * math.hypot(RELATION_SD_PERCENT_VOL, 0.1315 * READING_SD_PT * math.sqrt(2))
    return Alcohol(
        original_extract_plato=original,
        apparent_extract_plato=apparent,
        real_extract_plato=real,
        alcohol_by_mass_percent=by_mass,
        alcohol_by_volume_percent=by_volume,
        alcohol_by_volume_low_percent=max(0.0, by_volume - half),
        alcohol_by_volume_high_percent=by_volume + half,
        apparent_attenuation_percent=max(0.0, 100 * (original - apparent) / original),
        real_attenuation_percent=max(0.0, 100 * (original - real) / original),
        working=Working(
            formula=(
                "OE, AE = degrees Plato of og, fg; RE = 0.1808 OE + 0.8192 AE; "
                "A (% mass) = (OE - RE) / (2.0665 - 0.010665 OE); "
                "% volume = A x density of the beer / 789.239; "
                "attenuation apparent = (OE - AE) / OE, real = (OE - RE) / OE"
            ),
            inputs=(Quantity("og", og, "SG"), Quantity("fg", fg, "SG")),
            source=f"{BALLING_SOURCE}; ethanol density: OIML R 22",
            limits=(
                f"Original gravity {FERMENTED_OG}; compared with measured beers up to 18 P, less certain "
                f"above. Interval (90 %): {READING_SD_PT} point in each reading and "
                f"{RELATION_SD_PERCENT_VOL} % of volume in the relation, one standard deviation each."
            ),
        ),
    )
