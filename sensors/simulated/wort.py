"""From gravity to extract and back, as far as the twin needs it to give off the right heat.

Degrees Plato are grams of extract in 100 g. Sources: Balling's relation as given by Nielsen et al.,
Scandinavian School of Brewing; the cubic between gravity and Plato is from memory, and within 0.011 P of the
ICUMSA sucrose densities from 0 to 20 P.
"""

HEAT_KJ_PER_KG = 586.0
"""Heat per kg of real extract fermented, +/-10 %: 24 kcal a mole of hexose, given per kg of maltose."""

HEAT_CAPACITY_KJ_PER_KG_K = 3.95
"""Of wort and young beer, +/-3 %."""

WATER_KG_PER_L = 0.998207
"""Density of water at 20 C (IAPWS-95)."""


def plato(gravity: float) -> float:
    """Degrees Plato of a specific gravity 20/20."""
    return ((135.997 * gravity - 630.272) * gravity + 1111.14) * gravity - 616.868


def gravity(degrees_plato: float) -> float:
    """Specific gravity 20/20 of degrees Plato: the inverse of `plato`, by Newton's method."""
    guess = 1.0 + degrees_plato / 258.6
    for _ in range(4):
        slope = (3 * 135.997 * guess - 2 * 630.272) * guess + 1111.14
        guess -= (plato(guess) - degrees_plato) / slope
    return guess


def wort_kg(litres: float, og: float) -> float:
    """Mass of a volume of wort at 20 C."""
    return litres * og * WATER_KG_PER_L


def fermented_per_kg(og: float, fg: float) -> float:
    """Real extract that ferments, in kg per kg of wort, on the way from one gravity to the other."""
    original = plato(og)
    real = 0.1808 * original + 0.8192 * plato(fg)
    alcohol = (original - real) / (2.0665 - 0.010665 * original)
    return 2.0665 * alcohol / (100.0 + 1.0665 * alcohol)


def gravity_after(original_plato: float, fermented: float) -> float:
    """Gravity of the beer when `fermented` kg of extract per kg of wort are gone."""
    alcohol = 100.0 * fermented / (2.0665 - 1.0665 * fermented)
    real = original_plato * (1.0 + 0.010665 * alcohol) - 2.0665 * alcohol
    return gravity((real - 0.1808 * original_plato) / 0.8192)
