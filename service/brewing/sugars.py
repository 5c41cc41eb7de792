"""Priming sugars: how much carbon dioxide a gram gives, and what a level teaspoon weighs."""

from dataclasses import dataclass
from enum import StrEnum

from service.brewing.carbonation import CO2_G_PER_MOL, G_PER_VOLUME
from service.errors import InvalidInputError, Problem


class Sugar(StrEnum):
    """What may be given to the bottle."""

    SUCROSE = "sucrose"
    GLUCOSE = "glucose"
    GLUCOSE_MONOHYDRATE = "glucose-monohydrate"
    MALT_EXTRACT = "malt-extract"
    HONEY = "honey"


@dataclass(frozen=True, slots=True)
class SugarFacts:
    """co2_g_per_g: grams of gas from a gram of the sugar as weighed. uncertainty: 90 %, as a share.

    teaspoon_g: a level teaspoon in grams, None where no figure is to be trusted.
    """

    name: str
    co2_g_per_g: float
    uncertainty: float
    teaspoon_g: float | None
    source: str

    @property
    def grams_per_l_per_volume(self) -> float:
        """Grams in a litre for one volume more."""
        return G_PER_VOLUME / self.co2_g_per_g


_STOICHIOMETRY = "stoichiometry: two molecules of gas from each simple sugar"

SUGARS: dict[Sugar, SugarFacts] = {
    Sugar.SUCROSE: SugarFacts(
        "table sugar (sucrose)", 4 * CO2_G_PER_MOL / 342.297, 0.03, 4.2, f"{_STOICHIOMETRY}, 342.30 g/mol"
    ),
    Sugar.GLUCOSE: SugarFacts(
        "glucose, water-free", 2 * CO2_G_PER_MOL / 180.156, 0.03, None, f"{_STOICHIOMETRY}, 180.16 g/mol"
    ),
    Sugar.GLUCOSE_MONOHYDRATE: SugarFacts(
        "glucose monohydrate", 2 * CO2_G_PER_MOL / 198.171, 0.03, None, f"{_STOICHIOMETRY}, 198.17 g/mol"
    ),
    # 95 % extract, of which 62 % ferments.
    Sugar.MALT_EXTRACT: SugarFacts(
        "dry malt extract",
        0.95 * 0.62 * 4 * CO2_G_PER_MOL / 342.297,
        0.15,
        None,
        "common practice: 95 % extract, 62 % of it fermentable; makes differ",
    ),
    # 80 % simple sugars, of which 95 % ferments.
    Sugar.HONEY: SugarFacts(
        "honey",
        0.80 * 0.95 * 2 * CO2_G_PER_MOL / 180.156,
        0.08,
        None,
        "common practice: 80 % simple sugars, 95 % of them fermentable",
    ),
}

TEASPOON_UNCERTAINTY = 0.175
"""A level teaspoon differs by 15 to 20 % with the size of the crystals (from memory)."""

YEAST_KEEPS_SHARE = 1 - 3.844 / 4.06
"""How much less gas there is when yeast grows on the sugar: Balling's yield with sucrose's inversion."""


def sugar_facts(sugar: str) -> SugarFacts:
    """The facts about one sugar by its name. Raises InvalidInputError for an unknown one."""
    try:
        return SUGARS[Sugar(sugar)]
    except ValueError:
        names = ", ".join(Sugar)
        raise InvalidInputError(
            Problem("/sugar", f'There is no sugar "{sugar}" here.', f"Choose one of {names}.")
        ) from None
