"""The pressure in a closed bottle, from the gas in it, its temperature and its headspace."""

from dataclasses import dataclass

from service.brewing.carbonation import (
    BAR_CM3_PER_MOL_K,
    CO2_G_PER_MOL,
    G_PER_VOLUME,
    WEISS_SOURCE,
    second_virial_cm3_per_mol,
    volumes_at,
)
from service.brewing.ranges import BEER_C, HEADSPACE_PERCENT, VOLUMES, refuse_if, within
from service.brewing.water import ATMOSPHERE_BAR, vapour_pressure_bar
from service.brewing.working import Quantity, Working

USUAL_HEADSPACE_PERCENT = 4.0
CAPPED_AT_C = 20.0
"""Temperature at which the headspace's air is taken to have been closed in, C."""
UNUSED_AIR_SHARE = 0.79
"""Nitrogen and argon: the share of air that yeast cannot take up."""


@dataclass(frozen=True, slots=True)
class BottlePressure:
    """gauge_bar: over the air outside, all gases together. air_bar: how much of it is the headspace's air."""

    gauge_bar: float
    air_bar: float
    working: Working


def _gas_volumes(co2_bar: float, temp_c: float) -> float:
    """Litres of gas at 0 C and 1 atm in a litre of headspace at this partial pressure (virial)."""
    rt = BAR_CM3_PER_MOL_K * (temp_c + 273.15)
    compressibility = 1 + second_virial_cm3_per_mol(temp_c) * co2_bar / rt
    mol_per_l = co2_bar / (rt * compressibility) * 1000
    return mol_per_l * CO2_G_PER_MOL / G_PER_VOLUME


def _co2_bar(volumes: float, temp_c: float, headspace_share: float) -> float:
    low, high = 0.0, 30.0
    for _ in range(80):
        middle = (low + high) / 2
        held = volumes_at(middle, temp_c) + headspace_share * _gas_volumes(middle, temp_c)
        if held < volumes:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def closed_in_air_bar(temp_c: float) -> float:
    """Pressure, bar, that the nitrogen and argon of an air-filled headspace add at temp_c."""
    dry_bar = ATMOSPHERE_BAR - vapour_pressure_bar(CAPPED_AT_C)
    return UNUSED_AIR_SHARE * dry_bar * (temp_c + 273.15) / (CAPPED_AT_C + 273.15)


def gauge_bar(volumes: float, temp_c: float, headspace_percent: float, *, headspace_air: bool) -> float:
    """Gauge pressure, bar, of a bottle holding so many volumes of gas in all; see `pressure`.

    May be below zero where the beer holds less than it would take up from the open air.
    """
    co2 = _co2_bar(volumes, temp_c, headspace_percent / 100)
    air = closed_in_air_bar(temp_c) if headspace_air and headspace_percent > 0 else 0.0
    return co2 + vapour_pressure_bar(temp_c) + air - ATMOSPHERE_BAR


def pressure(
    *,
    volumes: float,
    temp_c: float,
    headspace_percent: float = USUAL_HEADSPACE_PERCENT,
    headspace_air: bool = True,
) -> BottlePressure:
    """Gauge pressure in a closed bottle once its gas has settled.

    volumes: carbon dioxide in all, per litre of beer. temp_c: the bottle, C. headspace_percent: of
    the beer's volume. headspace_air: false when the air was squeezed out before capping.
    Raises InvalidInputError.
    """
    refuse_if(
        within("/volumes", volumes, VOLUMES),
        within("/temp_c", temp_c, BEER_C),
        within("/headspace_percent", headspace_percent, HEADSPACE_PERCENT),
    )
    has_air = headspace_air and headspace_percent > 0
    return BottlePressure(
        gauge_bar=gauge_bar(volumes, temp_c, headspace_percent, headspace_air=headspace_air),
        air_bar=closed_in_air_bar(temp_c) if has_air else 0.0,
        working=Working(
            formula=(
                "volumes = dissolved(p) + headspace x gas(p), solved for the carbon dioxide pressure p; "
                "gauge = p + vapour + air - 1.013; air = 0.79 x (1.013 - vapour at 20 C) x T / 293"
            ),
            inputs=(
                Quantity("carbonation", volumes, "volumes"),
                Quantity("temperature", temp_c, "C"),
                Quantity("headspace", headspace_percent, "% of the beer"),
                Quantity("air in the headspace", "yes" if has_air else "no"),
            ),
            source=f"{WEISS_SOURCE}; virial coefficient: Weiss 1974",
            limits=(
                f"{BEER_C}, {VOLUMES}; about 3 % for water, 5 % for beer. Capped at 20 C; yeast is taken to "
                "use the oxygen. Not counted: warm beer swells and squeezes the air (up to 0.2 bar at 4 % "
                "headspace and 40 C), and some air dissolves. A bottle filled to the brim is not safer: "
                "warming liquid breaks it."
            ),
        ),
    )
