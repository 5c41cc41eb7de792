"""A hydrometer's reading, brought to the temperature the hydrometer is made for."""

import math
from dataclasses import dataclass

from service.brewing.ranges import INSTRUMENT_C, PLATO, SAMPLE_C, SG, ZERO_ERROR_PT, refuse_if, within
from service.brewing.sucrose import (
    SOURCE,
    density_from_sg,
    plato_from_density,
    plato_from_sg,
    sg_from_plato,
)
from service.brewing.working import Z90, Quantity, Working
from service.errors import InvalidInputError, Problem

GLASS_PER_K = 25e-6
"""Cubic expansion of soda-lime glass, 1/K (ISO 1768:1975)."""

READING_SD_PT = 0.7
"""Standard deviation of one reading of a hydrometer with 2-point marks, in points; common practice."""

SAMPLE_TEMP_SD_C = 0.7
"""Standard deviation of a sample's measured temperature, C; an estimate."""


@dataclass(frozen=True, slots=True)
class Gravity:
    """A reading as SG and degrees Plato, as read and corrected, with the 90 % interval of corrected_sg.

    Both SG are on the instrument's own temperature (a 20 C hydrometer: 20/20).
    """

    sg: float
    plato: float
    corrected_sg: float
    corrected_plato: float
    low: float
    high: float
    working: Working


def gravity(
    *,
    sg: float | None = None,
    plato: float | None = None,
    sample_c: float = 20.0,
    instrument_c: float = 20.0,
    zero_error_pt: float = 0.0,
) -> Gravity:
    """Corrects a hydrometer reading for the sample's temperature and the instrument's own zero.

    Exactly one of sg and plato is the reading. sample_c: temperature of the sample, C.
    instrument_c: the temperature printed on the hydrometer, C. zero_error_pt: what it shows in clean
    water at instrument_c, in points above 1.000 (taken off). The float sinks to where the displaced
    liquid weighs what it weighs; its glass swells with warmth. Raises InvalidInputError.
    """
    if (sg is None) == (plato is None):
        raise InvalidInputError(
            Problem("", "Give exactly one of sg and plato.", "Leave out the one that was not read.")
        )
    refuse_if(
        within("/sg", sg, SG) if sg is not None else None,
        within("/plato", plato, PLATO) if plato is not None else None,
        within("/sample_c", sample_c, SAMPLE_C),
        within("/instrument_c", instrument_c, INSTRUMENT_C),
        within("/zero_error_pt", zero_error_pt, ZERO_ERROR_PT),
    )
    read_sg = sg if sg is not None else sg_from_plato(plato or 0.0, instrument_c)
    read_plato = plato if plato is not None else plato_from_sg(read_sg, instrument_c)
    zeroed_sg = read_sg - zero_error_pt / 1000
    corrected_plato = _plato_at(zeroed_sg, sample_c, instrument_c)
    corrected_sg = sg_from_plato(corrected_plato, instrument_c)
    per_c = sg_from_plato(_plato_at(zeroed_sg, sample_c + 0.5, instrument_c), instrument_c)
    per_c -= sg_from_plato(_plato_at(zeroed_sg, sample_c - 0.5, instrument_c), instrument_c)
    half = Z90 * math.hypot(READING_SD_PT / 1000, per_c * SAMPLE_TEMP_SD_C)
    return Gravity(
        sg=read_sg,
        plato=read_plato,
        corrected_sg=corrected_sg,
        corrected_plato=corrected_plato,
        low=corrected_sg - half,
        high=corrected_sg + half,
        working=Working(
            formula=(
                "density(P, sample) x (1 + 25e-6 (sample - instrument)) = (reading - zero error) x "
                "density of water(instrument); solved for P, then SG = density(P, instrument) / "
                "density of water(instrument), weighed in air"
            ),
            inputs=(
                Quantity("reading", read_sg, "SG"),
                Quantity("sample", sample_c, "C"),
                Quantity("instrument", instrument_c, "C"),
                Quantity("zero error", zero_error_pt, "points"),
            ),
            source=f"{SOURCE}; glass: ISO 1768:1975, 25e-6 per K",
            limits=(
                f"Samples of {SAMPLE_C}. Interval (90 %): {READING_SD_PT} point of reading and "
                f"{SAMPLE_TEMP_SD_C} C of sample temperature, one standard deviation each. Degas the "
                "sample: a fizzy one reads 1 to 2 points high."
            ),
        ),
    )


def _plato_at(sg: float, sample_c: float, instrument_c: float) -> float:
    density = density_from_sg(sg, instrument_c) / (1 + GLASS_PER_K * (sample_c - instrument_c))
    return plato_from_density(density, sample_c)
