"""The boil: where water boils at this height, what boils off, how much the wort shrinks as it cools."""

from dataclasses import dataclass

from service.brewing.ranges import (
    ALTITUDE_M,
    BOIL_OFF_L_PER_H,
    MINUTES,
    ORIGINAL_SG,
    PRESSURE_HPA,
    VOLUME_L,
    refuse_if,
    within,
)
from service.brewing.sucrose import density_from_sg, plato_from_sg, sg_from_plato
from service.brewing.water import ATMOSPHERE_BAR, boiling_temp_c, water_density_kg_per_m3
from service.brewing.working import Quantity, Working
from service.errors import InvalidInputError, Problem

WORT_BOILS_HIGHER_C = 0.2
"""How much higher an ordinary wort boils than water, C: 12 % of dissolved sugars at 0.512 K kg/mol."""


@dataclass(frozen=True, slots=True)
class BoilingPoint:
    """Temperature at which water boils, C."""

    temp_c: float
    working: Working


@dataclass(frozen=True, slots=True)
class Boil:
    """Wort after the boil: volume still boiling hot and at 20 C, litres; its gravity at 20 C."""

    hot_l: float
    cold_l: float
    sg: float
    boiled_off_l: float
    working: Working


def air_pressure_hpa(altitude_m: float) -> float:
    """Air pressure at a height above the sea in the standard atmosphere, hPa (ISO 2533:1975)."""
    return float(1000 * ATMOSPHERE_BAR * (1 - 2.25577e-5 * altitude_m) ** 5.25588)


def boiling_point(*, pressure_hpa: float | None = None, altitude_m: float | None = None) -> BoilingPoint:
    """Boiling point of water, C, from exactly one of air pressure (hPa, at the kettle) and altitude (m).

    Raises InvalidInputError.
    """
    if (pressure_hpa is None) == (altitude_m is None):
        raise InvalidInputError(
            Problem("", "Give exactly one of pressure_hpa and altitude_m.", "Leave out the less certain one.")
        )
    refuse_if(
        within("/pressure_hpa", pressure_hpa, PRESSURE_HPA) if pressure_hpa is not None else None,
        within("/altitude_m", altitude_m, ALTITUDE_M) if altitude_m is not None else None,
    )
    hpa = pressure_hpa if pressure_hpa is not None else air_pressure_hpa(altitude_m or 0.0)
    return BoilingPoint(
        temp_c=boiling_temp_c(hpa / 1000),
        working=Working(
            formula=(
                "saturation line of water, solved for temperature; pressure from altitude = "
                "1013.25 (1 - 2.25577e-5 h)^5.25588"
            ),
            inputs=(
                Quantity("air pressure", hpa, "hPa"),
                Quantity("altitude", altitude_m, "m"),
            ),
            source="IAPWS-IF97, region 4; standard atmosphere: ISO 2533:1975",
            limits=(
                f"{PRESSURE_HPA} or {ALTITUDE_M}. Weather moves it: 10 hPa are 0.28 C, and an altitude alone "
                f"leaves about 0.5 C open. Wort boils about {WORT_BOILS_HIGHER_C} C higher than water."
            ),
        ),
    )


def shrinkage_share() -> float:
    """Share of its volume that boiling wort loses on cooling to 20 C, as water does."""
    return 1 - water_density_kg_per_m3(100) / water_density_kg_per_m3(20)


def boil(*, hot_l: float, sg: float, minutes: float, boil_off_l_per_h: float) -> Boil:
    """Volume and gravity after a boil.

    hot_l: volume at the start, boiling hot, litres. sg: gravity at the start (20/20). minutes: of boil.
    boil_off_l_per_h: what this kettle loses, litres of hot wort an hour. Raises InvalidInputError.
    """
    refuse_if(
        within("/hot_l", hot_l, VOLUME_L),
        within("/sg", sg, ORIGINAL_SG),
        within("/minutes", minutes, MINUTES),
        within("/boil_off_l_per_h", boil_off_l_per_h, BOIL_OFF_L_PER_H),
    )
    off_l = boil_off_l_per_h * minutes / 60
    kept = 1 - shrinkage_share()
    start_kg = hot_l * kept * density_from_sg(sg) / 1000
    extract_kg = start_kg * plato_from_sg(sg) / 100
    end_kg = start_kg - off_l * water_density_kg_per_m3(100) / 1000
    if end_kg <= extract_kg * 1.6:
        raise InvalidInputError(
            Problem(
                "/minutes",
                f"{off_l:.1f} L of {hot_l:.1f} L would boil away: what is left is a syrup.",
                "Check the boil-off (litres an hour) and the minutes.",
            )
        )
    end_sg = sg_from_plato(100 * extract_kg / end_kg)
    cold_l = 1000 * end_kg / density_from_sg(end_sg)
    return Boil(
        hot_l=cold_l / kept,
        cold_l=cold_l,
        sg=end_sg,
        boiled_off_l=off_l,
        working=Working(
            formula=(
                "extract stays, water goes: mass after = mass - boil-off x time x density(100 C); "
                f"cold volume = hot volume x {kept:.3f}"
            ),
            inputs=(
                Quantity("hot volume", hot_l, "L"),
                Quantity("gravity", sg, "SG"),
                Quantity("time", minutes, "min"),
                Quantity("boil-off", boil_off_l_per_h, "L/h"),
            ),
            source="mass balance; shrinkage: density of water, Kell 1975",
            limits="The boil-off is this kettle's own: it changes with lid, flame and draught by a quarter.",
        ),
    )


def learned_boil_off_l_per_h(*, hot_before_l: float, cold_after_l: float, minutes: float) -> float:
    """This kettle's boil-off in litres of hot wort an hour, from one boil measured before and after.

    Raises InvalidInputError when nothing was lost.
    """
    refuse_if(
        within("/hot_before_l", hot_before_l, VOLUME_L),
        within("/cold_after_l", cold_after_l, VOLUME_L),
        within("/minutes", minutes, MINUTES),
    )
    lost_l = hot_before_l - cold_after_l / (1 - shrinkage_share())
    if lost_l < 0:
        raise InvalidInputError(
            Problem(
                "/cold_after_l",
                f"{cold_after_l:.1f} L cold is more than {hot_before_l:.1f} L hot can leave.",
                "Check both volumes, and that nothing was added.",
            )
        )
    return lost_l / minutes * 60
