"""The numbers that need no batch: each computation declared once, in the order in which a page shows them."""

from service.brewing import ranges
from service.brewing.additions import addition
from service.brewing.alcohol import alcohol
from service.brewing.boiling import boil, boiling_point
from service.brewing.bottle_pressure import USUAL_HEADSPACE_PERCENT, pressure
from service.brewing.call import Argument, ArgumentType, Call
from service.brewing.carbonation import dissolved
from service.brewing.chilling import CHANGING_TAKES_S, ice, water_change
from service.brewing.conditioning import Squeeze, conditioning
from service.brewing.cooling import CoolingSample, cooling
from service.brewing.hydrometer import gravity
from service.brewing.keg import keg
from service.brewing.mash import Heating, flame, mash_lift, strike
from service.brewing.priming import Bottle, priming
from service.brewing.refractometer import USUAL_WORT_FACTOR, refractometer
from service.brewing.sugars import Sugar
from service.brewing.water import ATMOSPHERE_BAR
from service.brewing.weight import weight_loss


def _maybe(
    name: str,
    label: str,
    limits: ranges.Range,
    default: float | None,
    help: str = "",
) -> Argument:
    return Argument(name, label, help, limits=limits, required=False, default=default)


def _must(name: str, label: str, limits: ranges.Range, help: str = "") -> Argument:
    return Argument(name, label, help, limits=limits)


_GRAIN = _must("grain_kg", "Grain", ranges.GRAIN_KG)
_OG = _must("og", "Original gravity", ranges.FERMENTED_OG, "As SG, for example 1.048.")
_VOLUME = _must("volume_l", "Volume", ranges.VOLUME_L)

_BOTTLES = Argument(
    "bottles",
    "Bottles",
    "Each size with its number, for the dose of a single bottle.",
    type=ArgumentType.OBJECTS,
    required=False,
    fields=(
        _must("size_l", "Size", ranges.BOTTLE_L),
        Argument("count", "How many", type=ArgumentType.INTEGER, limits=ranges.BOTTLE_COUNT),
    ),
    row=Bottle,
)

_MASHING = (
    Call(
        "strike",
        "Strike water",
        "How hot must the water be?",
        strike,
        (
            _GRAIN,
            _must("water_l", "Water", ranges.MASH_WATER_L, "Measured cold."),
            _must("grain_c", "Temperature of the grain", ranges.GRAIN_C),
            _must("mash_c", "Mash wanted at", ranges.MASH_C),
        ),
    ),
    Call(
        "mash-lift",
        "Lift a mash with hot water",
        "How much hot water brings it back?",
        mash_lift,
        (
            _GRAIN,
            _must("water_l", "Water in the mash", ranges.MASH_WATER_L),
            _must("from_c", "Mash now", ranges.MASH_C),
            _must("to_c", "Mash wanted at", ranges.MASH_C),
            _must("hot_c", "Hot water", ranges.HOT_WATER_C),
        ),
    ),
    Call(
        "flame",
        "Lift a mash with the flame",
        "How many minutes of flame bring it back?",
        flame,
        (
            _GRAIN,
            _must("water_l", "Water in the mash", ranges.MASH_WATER_L),
            _must("from_c", "Mash now", ranges.MASH_C),
            _must("to_c", "Mash wanted at", ranges.MASH_C),
            Argument(
                "heatings",
                "Earlier heatings on this stove",
                "With the same flame: what stood on it, how long, how far it rose.",
                type=ArgumentType.OBJECTS,
                fields=(
                    _must("grain_kg", "Grain", ranges.STOVE_GRAIN_KG, "0 for plain water."),
                    _must("water_l", "Water", ranges.MASH_WATER_L),
                    _must("minutes", "Minutes", ranges.MINUTES),
                    _must("rise_c", "Rise", ranges.RISE_C),
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
            _maybe(
                "pressure_hpa", "Air pressure", ranges.PRESSURE_HPA, None, "At the kettle, not sea level."
            ),
            _maybe("altitude_m", "Altitude", ranges.ALTITUDE_M, None),
        ),
        exactly_one_of=("pressure_hpa", "altitude_m"),
    ),
    Call(
        "boil",
        "After the boil",
        "How much wort is left, and how strong?",
        boil,
        (
            _must("hot_l", "Hot wort at the start", ranges.VOLUME_L),
            _must("sg", "Gravity at the start", ranges.ORIGINAL_SG),
            _must("minutes", "Minutes of boil", ranges.MINUTES),
            _must("boil_off_l_per_h", "Boil-off of this kettle", ranges.BOIL_OFF_L_PER_H),
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
                    _must("temp_c", "Temperature", ranges.WORT_C),
                ),
                row=CoolingSample,
            ),
            _maybe("bath_c", "Bath", ranges.BATH_C, None, "Left out: read off the curve."),
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
            _must("og", "Original gravity", ranges.ORIGINAL_SG),
            _must("from_c", "Wort now", ranges.WORT_C),
            _must("to_c", "Wort wanted at", ranges.TARGET_C),
            _maybe("ice_c", "Ice", ranges.ICE_C, 0.0, "-18 from a freezer."),
        ),
    ),
    Call(
        "water-change",
        "Changing the bath's water",
        "When does fresh water pay?",
        water_change,
        (
            _VOLUME,
            _maybe("og", "Original gravity", ranges.ORIGINAL_SG, 1.045),
            _must("wort_c", "Wort now", ranges.WORT_C),
            _must("target_c", "Wort wanted at", ranges.TARGET_C),
            _must("bath_l", "Water in the bath", ranges.VOLUME_L),
            _must("bath_c", "Bath now", ranges.BATH_C),
            _must("fresh_c", "Fresh water", ranges.BATH_C),
            _must("tau_s", "Time constant", ranges.DURATION_S, "From the cooling curve."),
            _maybe("changing_takes_s", "Changing takes", ranges.DURATION_S, CHANGING_TAKES_S),
        ),
    ),
)

_FERMENTING = (
    Call(
        "gravity",
        "Gravity",
        "What does the hydrometer really say?",
        gravity,
        (
            _maybe("sg", "Reading as SG", ranges.SG, None),
            _maybe("plato", "Reading in degrees Plato", ranges.PLATO, None),
            _maybe("sample_c", "Sample", ranges.SAMPLE_C, 20.0),
            _maybe("instrument_c", "Made for", ranges.INSTRUMENT_C, 20.0, "Printed on it; 60 F is 15.56 C."),
            _maybe("zero_error_pt", "Shows in clean water", ranges.ZERO_ERROR_PT, 0.0, "Points above 1.000."),
        ),
        exactly_one_of=("sg", "plato"),
    ),
    Call(
        "refractometer",
        "Refractometer",
        "What gravity is behind its reading in beer?",
        refractometer,
        (
            _must("og_brix", "Reading of the wort", ranges.BRIX),
            _must("brix", "Reading now", ranges.BRIX),
            _maybe("wort_factor", "Wort factor", ranges.WORT_FACTOR, USUAL_WORT_FACTOR),
        ),
    ),
    Call(
        "weight-loss",
        "Loss of weight",
        "What gravity goes with the mass the fermenter has lost?",
        weight_loss,
        (
            _OG,
            _VOLUME,
            _must("lost_g", "Mass lost", ranges.LOST_G),
            _maybe("temp_c", "Beer now", ranges.BEER_C, 20.0),
        ),
    ),
    Call(
        "alcohol",
        "Alcohol and attenuation",
        "How strong is it?",
        alcohol,
        (_OG, _must("fg", "Gravity now", ranges.SG)),
    ),
    Call(
        "addition",
        "Additions",
        "What do sugar, fruit or water change?",
        addition,
        (
            _VOLUME,
            _must("sg", "Original gravity", ranges.ORIGINAL_SG),
            _must("mass_g", "Mass added", ranges.MASS_G),
            _maybe("extract_share", "Extract in it", ranges.SHARE, 1.0, "Sugar 1, honey 0.82, fruit 0.10."),
            _maybe("fermentable_share", "Of that, ferments", ranges.SHARE, 1.0, "Sugar 1, lactose 0."),
            _maybe("water_l", "Water added", ranges.WATER_L, 0.0),
            _maybe("expected_fg", "Expected end before", ranges.SG, None),
        ),
    ),
)

_PACKAGING = (
    Call(
        "dissolved",
        "Dissolved gas",
        "How much carbon dioxide does the beer hold?",
        dissolved,
        (
            _must("temp_c", "Beer", ranges.BEER_C),
            _maybe("pressure_bar", "Absolute pressure", ranges.PRESSURE_BAR, ATMOSPHERE_BAR),
        ),
    ),
    Call(
        "priming",
        "Priming",
        "How much sugar for the bottles?",
        priming,
        (
            _VOLUME,
            _must("warmest_c", "Warmest since the end", ranges.BEER_C, "Not the cold before bottling."),
            _must("wanted_volumes", "Carbonation wanted", ranges.VOLUMES),
            Argument(
                "sugar",
                "Sugar",
                type=ArgumentType.CHOICE,
                required=False,
                default=Sugar.SUCROSE.value,
                choices=tuple(sugar.value for sugar in Sugar),
            ),
            _maybe("points_left", "Points still to come", ranges.POINTS_LEFT, 0.0, "0 when it has ended."),
            _BOTTLES,
            _maybe("ten_teaspoons_g", "Ten level teaspoons weigh", ranges.TEN_TEASPOONS_G, None),
            Argument(
                "stronger_bottles",
                "Bottles rated for more than 3 volumes",
                type=ArgumentType.BOOLEAN,
                required=False,
                default=False,
            ),
        ),
    ),
    Call(
        "pressure",
        "Pressure in a bottle",
        "How hard is the bottle?",
        pressure,
        (
            _must("volumes", "Carbonation", ranges.VOLUMES),
            _must("temp_c", "Bottle", ranges.BEER_C),
            _maybe("headspace_percent", "Headspace", ranges.HEADSPACE_PERCENT, USUAL_HEADSPACE_PERCENT),
            Argument(
                "headspace_air",
                "Air in the headspace",
                "No, when it was squeezed out.",
                ArgumentType.BOOLEAN,
                required=False,
                default=True,
            ),
        ),
    ),
    Call(
        "conditioning",
        "Carbonation over the days",
        "When is the first bottle worth opening?",
        conditioning,
        (
            _must("residual_volumes", "Held when bottled", ranges.VOLUMES),
            _must("wanted_volumes", "Wanted in the end", ranges.VOLUMES),
            _must("temp_c", "Bottles", ranges.BEER_C),
            _maybe("days", "Days since bottling", ranges.DAYS, 0.0),
            Argument(
                "squeezes",
                "Witness bottle",
                "A soft plastic bottle filled with the others: firm or not, on which day.",
                type=ArgumentType.OBJECTS,
                required=False,
                fields=(
                    _must("days", "Day", ranges.DAYS),
                    Argument("firm", "Firm", type=ArgumentType.BOOLEAN),
                ),
                row=Squeeze,
            ),
        ),
    ),
    Call(
        "keg",
        "Keg",
        "What pressure, and for how long?",
        keg,
        (
            _must("volumes", "Carbonation wanted", ranges.VOLUMES),
            _must("temp_c", "Keg", ranges.BEER_C),
            _maybe("start_volumes", "Held at the start", ranges.VOLUMES, None),
            _maybe("warmest_c", "Warmest since the end", ranges.BEER_C, 20.0),
        ),
    ),
)

CALLS: tuple[Call, ...] = (*_MASHING, *_KETTLE, *_CHILL, *_FERMENTING, *_PACKAGING)
