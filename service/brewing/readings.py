"""A direct measure of gravity, of whatever kind, corrected with the interval its kind deserves."""

import math
from dataclasses import dataclass, replace
from enum import StrEnum

from service.brewing.hydrometer import gravity
from service.brewing.ranges import FERMENTER_KG, refuse_if, within
from service.brewing.refractometer import USUAL_WORT_FACTOR, refractometer
from service.brewing.sucrose import plato_from_sg
from service.brewing.weight import SCALE_SD_G, weight_loss
from service.brewing.working import Quantity, Working
from service.errors import InvalidInputError, Problem

FIZZ_PT = 1.5
"""How much too high a fizzy sample reads, points, give or take half a point (from memory)."""
FIZZ_HALF_WIDTH_PT = 0.5


class ReadingKind(StrEnum):
    """How gravity was measured."""

    HYDROMETER = "hydrometer"
    REFRACTOMETER = "refractometer"
    WEIGHT = "weight"
    LIMIT_JAR = "limit-jar"


@dataclass(frozen=True, slots=True)
class ReadingContext:
    """What the batch knows that a reading needs; None where it does not know.

    og: SG 20/20. og_brix: the refractometer's own reading of the wort. first_kg: the whole fermenter when
    first weighed, at pitching. added_kg: mass added since less mass taken out. beer_c: the beer now, C.
    """

    og: float | None = None
    og_brix: float | None = None
    volume_l: float | None = None
    first_kg: float | None = None
    added_kg: float = 0.0
    beer_c: float = 20.0


@dataclass(frozen=True, slots=True)
class CorrectedReading:
    """The gravity a reading stands for, SG, and its 90 % interval."""

    corrected_sg: float
    low: float
    high: float
    working: Working


def reading(
    *,
    by: ReadingKind = ReadingKind.HYDROMETER,
    context: ReadingContext,
    sg: float | None = None,
    plato: float | None = None,
    sample_c: float = 20.0,
    instrument_c: float = 20.0,
    zero_error_pt: float = 0.0,
    degassed: bool = True,
    brix: float | None = None,
    wort_factor: float = USUAL_WORT_FACTOR,
    kg: float | None = None,
) -> CorrectedReading:
    """Corrects one reading by its kind.

    hydrometer and limit-jar take exactly one of sg and plato, with sample_c, instrument_c (C),
    zero_error_pt (points) and degassed; refractometer takes brix and wort_factor; weight takes kg, the
    whole fermenter as it was first weighed. Raises InvalidInputError, also when the batch lacks what
    the kind needs.
    """
    _refuse_strangers(by, {"sg": sg, "plato": plato, "brix": brix, "kg": kg})
    if by is ReadingKind.REFRACTOMETER:
        return _by_refractometer(context, brix, wort_factor)
    if by is ReadingKind.WEIGHT:
        return _by_weight(context, kg)
    answer = gravity(
        sg=sg, plato=plato, sample_c=sample_c, instrument_c=instrument_c, zero_error_pt=zero_error_pt
    )
    corrected = CorrectedReading(answer.corrected_sg, answer.low, answer.high, answer.working)
    return corrected if degassed else _less_fizz(corrected)


_MEMBERS = {
    ReadingKind.HYDROMETER: ("sg", "plato"),
    ReadingKind.LIMIT_JAR: ("sg", "plato"),
    ReadingKind.REFRACTOMETER: ("brix",),
    ReadingKind.WEIGHT: ("kg",),
}


def _refuse_strangers(by: ReadingKind, given: dict[str, float | None]) -> None:
    wanted = _MEMBERS[by]
    refuse_if(
        *(
            Problem(
                f"/{name}", f"{name} does not belong to a reading by {by}.", f"Give {' or '.join(wanted)}."
            )
            for name, value in given.items()
            if value is not None and name not in wanted
        ),
        None
        if any(given[name] is not None for name in wanted)
        else Problem(
            f"/{wanted[0]}", f"A reading by {by} needs {' or '.join(wanted)}.", "Give what was read."
        ),
    )


def _less_fizz(corrected: CorrectedReading) -> CorrectedReading:
    half = math.hypot(corrected.high - corrected.corrected_sg, FIZZ_HALF_WIDTH_PT / 1000)
    middle = corrected.corrected_sg - FIZZ_PT / 1000
    return CorrectedReading(
        middle,
        middle - half,
        middle + half,
        replace(
            corrected.working,
            formula=f"{corrected.working.formula}; less {FIZZ_PT} points for the bubbles",
            source=f"{corrected.working.source}; bubbles: from memory",
        ),
    )


def _by_refractometer(context: ReadingContext, brix: float | None, wort_factor: float) -> CorrectedReading:
    og_brix = context.og_brix
    if og_brix is None:
        if context.og is None:
            raise _missing("/brix", "refractometer", "the original gravity")
        og_brix = plato_from_sg(context.og) * wort_factor
    answer = refractometer(og_brix=og_brix, brix=brix if brix is not None else 0.0, wort_factor=wort_factor)
    return CorrectedReading(answer.sg, answer.low, answer.high, answer.working)


def _by_weight(context: ReadingContext, kg: float | None) -> CorrectedReading:
    now_kg = kg if kg is not None else 0.0
    refuse_if(within("/kg", now_kg, FERMENTER_KG))
    if context.og is None:
        raise _missing("/kg", "weight", "the original gravity")
    if context.volume_l is None:
        raise _missing("/kg", "weight", "the volume")
    if context.first_kg is None:
        raise _missing("/kg", "weight", "a first weighing at pitching")
    lost_g = (context.first_kg + context.added_kg - now_kg) * 1000
    if lost_g < -3 * SCALE_SD_G:
        raise InvalidInputError(
            Problem(
                "/kg",
                f"{now_kg:g} kg is {-lost_g:.0f} g more than at the first weighing.",
                "Note what was added, or weigh with the same lid and airlock.",
            )
        )
    answer = weight_loss(
        og=context.og, volume_l=context.volume_l, lost_g=max(0.0, lost_g), temp_c=context.beer_c
    )
    inputs = (
        Quantity("first weighing", context.first_kg, "kg"),
        Quantity("added since", context.added_kg, "kg"),
        Quantity("now", now_kg, "kg"),
        *answer.working.inputs,
    )
    return CorrectedReading(answer.sg, answer.low, answer.high, replace(answer.working, inputs=inputs))


def _missing(field: str, kind: str, what: str) -> InvalidInputError:
    return InvalidInputError(
        Problem(field, f"A reading by {kind} needs {what} of the batch.", "Add it to the batch first.")
    )
