"""The computations of the brew day: mash, kettle, chill."""

from service.brewing import ranges
from service.brewing.boiling import boil, boiling_point
from service.brewing.call import Argument, ArgumentType, Call, maybe, must
from service.brewing.chilling import CHANGING_TAKES_S, ice, water_change
from service.brewing.cooling import CoolingSample, cooling
from service.brewing.mash import Heating, flame, mash_lift, strike

_GRAIN = must("grain_kg", "Grain", ranges.GRAIN_KG)
_VOLUME = must("volume_l", "Wort", ranges.VOLUME_L)

_MASHING = (
    Call(
        "strike",
        "Strike water",
        "How hot must the water be?",
        strike,
        (
            _GRAIN,
            must("water_l", "Water", ranges.MASH_WATER_L, "Measured cold."),
            must("grain_c", "Temperature of the grain", ranges.GRAIN_C),
            must("mash_c", "Mash wanted at", ranges.MASH_C),
        ),
    ),
    Call(
        "mash-lift",
        "Lift a mash with hot water",
        "How much hot water brings it back?",
        mash_lift,
        (
            _GRAIN,
            must("water_l", "Water in the mash", ranges.MASH_WATER_L),
            must("from_c", "Mash now", ranges.MASH_C),
            must("to_c", "Mash wanted at", ranges.MASH_C),
            must("hot_c", "Hot water", ranges.HOT_WATER_C),
        ),
    ),
    Call(
        "flame",
        "Lift a mash with the flame",
        "How many minutes of flame bring it back?",
        flame,
        (
            _GRAIN,
            must("water_l", "Water in the mash", ranges.MASH_WATER_L),
            must("from_c", "Mash now", ranges.MASH_C),
            must("to_c", "Mash wanted at", ranges.MASH_C),
            Argument(
                "heatings",
                "Earlier heatings on this stove",
                "With the same flame: what stood on it, how long, how far it rose.",
                type=ArgumentType.OBJECTS,
                fields=(
                    must("grain_kg", "Grain", ranges.STOVE_GRAIN_KG, "0 for plain water."),
                    must("water_l", "Water", ranges.MASH_WATER_L),
                    must("minutes", "Minutes", ranges.MINUTES),
                    must("rise_c", "Rise", ranges.RISE_C),
                ),
                row=Heating,
            ),
        ),
    ),
)

_KETTLE = (
    Call(
        "boiling-point",
        "Boiling point",
        "At what temperature does water boil here?",
        boiling_point,
        (
            maybe("pressure_hpa", "Air pressure", ranges.PRESSURE_HPA, None, "At the kettle, not sea level."),
            maybe("altitude_m", "Altitude", ranges.ALTITUDE_M, None),
        ),
        exactly_one_of=("pressure_hpa", "altitude_m"),
    ),
    Call(
        "boil",
        "After the boil",
        "How much wort is left, and how strong?",
        boil,
        (
            must("hot_l", "Hot wort at the start", ranges.VOLUME_L),
            must("sg", "Gravity at the start", ranges.ORIGINAL_SG),
            must("minutes", "Minutes of boil", ranges.MINUTES),
            must("boil_off_l_per_h", "Boil-off of this kettle", ranges.BOIL_OFF_L_PER_H),
        ),
    ),
)

_CHILL = (
    Call(
        "cooling",
        "Cooling toward a bath",
        "When is it cold enough?",
        cooling,
        (
            Argument(
                "samples",
                "Temperatures of the wort",
                "Since the bath was filled; at least four.",
                type=ArgumentType.OBJECTS,
                fields=(
                    Argument("at", "Time", type=ArgumentType.TIME),
                    must("temp_c", "Temperature", ranges.WORT_C),
                ),
                row=CoolingSample,
            ),
            maybe("bath_c", "Bath", ranges.BATH_C, None, "Left out: read off the curve."),
            Argument(
                "targets_c", "Targets", "Say steep and pitch.", ArgumentType.NUMBERS, limits=ranges.TARGET_C
            ),
        ),
    ),
    Call(
        "ice",
        "Ice",
        "How much ice cools the wort?",
        ice,
        (
            _VOLUME,
            must("og", "Original gravity", ranges.ORIGINAL_SG),
            must("from_c", "Wort now", ranges.WORT_C),
            must("to_c", "Wort wanted at", ranges.TARGET_C),
            maybe("ice_c", "Ice", ranges.ICE_C, 0.0, "-18 C from a freezer."),
        ),
    ),
    Call(
        "water-change",
        "Changing the bath's water",
        "When does fresh water pay?",
        water_change,
        (
            _VOLUME,
            maybe("og", "Original gravity", ranges.ORIGINAL_SG, 1.045),
            must("wort_c", "Wort now", ranges.WORT_C),
            must("target_c", "Wort wanted at", ranges.TARGET_C),
            must("bath_l", "Water in the bath", ranges.VOLUME_L),
            must("bath_c", "Bath now", ranges.BATH_C),
            must("fresh_c", "Fresh water", ranges.BATH_C),
            must("tau_s", "Time constant", ranges.DURATION_S, "From the cooling curve."),
            maybe("changing_takes_s", "Changing takes", ranges.DURATION_S, CHANGING_TAKES_S),
        ),
    ),
)

BREW_DAY: tuple[Call, ...] = (*_MASHING, *_KETTLE, *_CHILL)
