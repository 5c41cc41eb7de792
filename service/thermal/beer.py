"""Heat and gravity of a fermenting beer: plain numbers, no arrays.

Extract by the cubic fit of the sucrose tables (from memory, within 0.011 P of them from 0 to 20 P);
real extract and attenuation by Balling (2.0665 g extract give 1 g ethanol and 0.9565 g gas; Nielsen et al.,
Scandinavian School of Brewing) with the customary weights 0.1808 and 0.8192 (from memory).
"""

import math

HEAT_KJ_PER_KG = 586.0
"""Heat of fermentation per kg of real extract fermented, about +/- 10 % (24 kcal per mol of hexose)."""

WORT_KJ_PER_KG_K = 3.95
"""Specific heat of wort, +/- 3 %."""

VESSEL_SHARE = 1.04
"""The vessel's own heat capacity comes on top of the wort's: about a twenty-fifth."""

GAS_SHARE = 0.9565 / 2.0665
"""Carbon dioxide that leaves per kg of real extract fermented."""


def plato(sg: float) -> float:
    """Degrees Plato of a specific gravity 20/20."""
    return -616.868 + 1111.14 * sg - 630.272 * sg**2 + 135.997 * sg**3


def specific_gravity(degrees_plato: float) -> float:
    """The specific gravity 20/20 of degrees Plato, to 1e-9, by Newton's method on the cubic."""
    sg = 1 + degrees_plato / 258.6
    for _ in range(6):
        slope = 1111.14 - 2 * 630.272 * sg + 3 * 135.997 * sg**2
        sg -= (plato(sg) - degrees_plato) / slope
    return sg


def fermented_extract(og: float, sg: float) -> float:
    """Kg of real extract fermented per kg of wort between the two gravities; the gas lost is counted."""
    original = plato(og)
    real = 0.1808 * original + 0.8192 * plato(sg)
    return (original - real) / 100 / (1 - GAS_SHARE * real / 100)


def gravity_after(og: float, fermented: float) -> float:
    """The gravity when `fermented` kg of real extract per kg of wort are gone."""
    original = plato(og)
    real = 100 * (original / 100 - fermented) / (1 - GAS_SHARE * fermented)
    return specific_gravity((real - 0.1808 * original) / 0.8192)


def bow(og: float, fg: float) -> float:
    """How far gravity runs ahead of extract half way: the k of drop = D (F + k F (1 - F))."""
    half = gravity_after(og, fermented_extract(og, fg) / 2)
    return 4 * ((og - half) / (og - fg) - 0.5)


def heat_capacity_wh_per_k(volume_l: float, og: float) -> float:
    """Of beer and vessel together."""
    return volume_l * og * WORT_KJ_PER_KG_K * VESSEL_SHARE / 3.6


def adiabatic_rise_k(og: float, fg: float) -> float:
    """How far the beer would warm itself from the one gravity to the other, were it to lose nothing."""
    return HEAT_KJ_PER_KG * fermented_extract(og, fg) / (WORT_KJ_PER_KG_K * VESSEL_SHARE)


def usual_time_constant_h(volume_l: float) -> float:
    """Hours for an unlagged vessel of this volume to lose 63 % of a difference to still air."""
    return 6.5 * math.exp(math.log(volume_l / 5.0) / 3)


def usual_pace(temp_c: float) -> float:
    """How fast yeast works compared with 20 C: a factor 2.2 for 10 C, and nothing below 2 C."""
    cold = min(1.0, max(0.0, (temp_c - 2.0) / 4.0))
    return cold * math.exp(math.log(2.2) * (temp_c - 20.0) / 10.0)
