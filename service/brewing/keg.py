"""A keg under gas: the pressure that keeps wanted volumes, and how long still beer takes to get there."""

import math
from dataclasses import dataclass

from service.brewing.carbonation import WEISS_SOURCE, co2_bar_for, residual_volumes
from service.brewing.ranges import BEER_C, VOLUMES, refuse_if, within
from service.brewing.water import ATMOSPHERE_BAR, vapour_pressure_bar
from service.brewing.working import Interval, Quantity, Working
from service.errors import InvalidInputError, Problem

TIME_CONSTANT_DAYS = (2.0, 3.0, 5.0)
"""Low, usual and high days in which a still keg's missing gas falls to 1/e; common practice (a keg left at
serving pressure is ready after one to two weeks)."""
NEAR_ENOUGH_SHARE = 0.05
"""A keg counts as carbonated when so small a share of the missing gas is left."""


@dataclass(frozen=True, slots=True)
class Keg:
    """gauge_bar: what the regulator must show. days: until the still keg holds 95 % of the missing gas."""

    gauge_bar: float
    days: Interval
    working: Working


def keg(*, volumes: float, temp_c: float, start_volumes: float | None = None, warmest_c: float = 20.0) -> Keg:
    """Pressure and days for a keg at temp_c (C) to hold volumes of carbon dioxide, standing still.

    start_volumes: what the beer holds at the start; from warmest_c, the warmest since the end of
    fermentation (C), when None. Raises InvalidInputError, also when the keg would need less than the
    air's own pressure.
    """
    refuse_if(
        within("/volumes", volumes, VOLUMES),
        within("/temp_c", temp_c, BEER_C),
        within("/warmest_c", warmest_c, BEER_C),
        None if start_volumes is None else within("/start_volumes", start_volumes, VOLUMES),
    )
    gauge = co2_bar_for(volumes, temp_c) + vapour_pressure_bar(temp_c) - ATMOSPHERE_BAR
    if gauge < 0:
        raise InvalidInputError(
            Problem(
                "/volumes",
                f"At {temp_c:g} C beer holds {volumes:.2f} volumes below the air's own pressure.",
                f"Ask for at least {residual_volumes(temp_c):.2f} volumes.",
            )
        )
    start = start_volumes if start_volumes is not None else residual_volumes(warmest_c)
    reaches = -math.log(NEAR_ENOUGH_SHARE) if start < volumes else 0.0
    low, usual, high = (constant * reaches for constant in TIME_CONSTANT_DAYS)
    return Keg(
        gauge_bar=gauge,
        days=Interval(usual, low, high),
        working=Working(
            formula=(
                "pressure = that of carbon dioxide for the wanted volumes + vapour - 1.013; the missing gas "
                "falls as exp(-days/3)"
            ),
            inputs=(
                Quantity("wanted", volumes, "volumes"),
                Quantity("temperature", temp_c, "C"),
                Quantity("at the start", start, "volumes"),
            ),
            source=f"{WEISS_SOURCE}; days: common practice",
            limits=(
                f"{BEER_C}; pressure within 5 % for beer. The days are an estimate for a still keg: shaking "
                "takes minutes and easily goes too far. Never exceed the pressure stamped on the keg; use a "
                "relief valve, and air the place: carbon dioxide gathers in cupboards and cellars."
            ),
        ),
    )
