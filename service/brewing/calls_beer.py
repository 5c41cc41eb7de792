"""The computations about the beer: fermenting and packaging."""

from service.brewing import ranges
from service.brewing.additions import addition
from service.brewing.alcohol import alcohol
from service.brewing.bottle_pressure import USUAL_HEADSPACE_PERCENT, pressure
from service.brewing.call import Argument, ArgumentType, Call, maybe, must
from service.brewing.carbonation import dissolved
from service.brewing.conditioning import Squeeze, conditioning
from service.brewing.hydrometer import gravity
from service.brewing.keg import keg
from service.brewing.priming import Bottle, priming
from service.brewing.refractometer import USUAL_WORT_FACTOR, refractometer
from service.brewing.sugars import Sugar
from service.brewing.water import ATMOSPHERE_BAR
from service.brewing.weight import weight_loss

_OG = must("og", "Original gravity", ranges.FERMENTED_OG, "For example 1.048 SG.")
_VOLUME = must("volume_l", "Volume", ranges.VOLUME_L)

_BOTTLES = Argument(
    "bottles",
    "Bottles",
    "Each size with its number, for the dose of a single bottle.",
    type=ArgumentType.OBJECTS,
    required=False,
    fields=(
        must("size_l", "Size", ranges.BOTTLE_L),
        Argument("count", "How many", type=ArgumentType.INTEGER, limits=ranges.BOTTLE_COUNT),
    ),
    row=Bottle,
)

_FERMENTING = (
    Call(
        "gravity",
        "Gravity",
        "What does the hydrometer really say?",
        gravity,
        (
            maybe("sg", "Reading as SG", ranges.SG, None),
            maybe("plato", "Reading in degrees Plato", ranges.PLATO, None),
            maybe("sample_c", "Sample", ranges.SAMPLE_C, 20.0),
            maybe("instrument_c", "Made for", ranges.INSTRUMENT_C, 20.0, "Printed on it; 60 F is 15.56 C."),
            maybe("zero_error_pt", "Shows in clean water", ranges.ZERO_ERROR_PT, 0.0, "Points above 1.000."),
        ),
        exactly_one_of=("sg", "plato"),
    ),
    Call(
        "refractometer",
        "Refractometer",
        "What gravity is behind its reading in beer?",
        refractometer,
        (
            must("og_brix", "Reading of the wort", ranges.BRIX),
            must("brix", "Reading now", ranges.BRIX),
            maybe("wort_factor", "Wort factor", ranges.WORT_FACTOR, USUAL_WORT_FACTOR),
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
            must("lost_g", "Mass lost", ranges.LOST_G),
            maybe("temp_c", "Beer now", ranges.BEER_C, 20.0),
        ),
    ),
    Call(
        "alcohol",
        "Alcohol and attenuation",
        "How strong is it?",
        alcohol,
        (_OG, must("fg", "Gravity now", ranges.SG)),
    ),
    Call(
        "addition",
        "Additions",
        "What do sugar, fruit or water change?",
        addition,
        (
            _VOLUME,
            must("sg", "Original gravity", ranges.ORIGINAL_SG),
            must("mass_g", "Mass added", ranges.MASS_G),
            maybe("extract_share", "Extract in it", ranges.SHARE, 1.0, "Sugar 1, honey 0.82, fruit 0.10."),
            maybe("fermentable_share", "Of that, ferments", ranges.SHARE, 1.0, "Sugar 1, lactose 0."),
            maybe("water_l", "Water added", ranges.WATER_L, 0.0),
            maybe("expected_fg", "Expected end before", ranges.SG, None),
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
            must("temp_c", "Beer", ranges.BEER_C),
            maybe("pressure_bar", "Absolute pressure", ranges.PRESSURE_BAR, ATMOSPHERE_BAR),
        ),
    ),
    Call(
        "priming",
        "Priming",
        "How much sugar for the bottles?",
        priming,
        (
            _VOLUME,
            must("warmest_c", "Warmest since the end", ranges.BEER_C, "Not the cold before bottling."),
            must("wanted_volumes", "Carbonation wanted", ranges.VOLUMES),
            Argument(
                "sugar",
                "Sugar",
                type=ArgumentType.CHOICE,
                required=False,
                default=Sugar.SUCROSE.value,
                choices=tuple(sugar.value for sugar in Sugar),
            ),
            maybe("points_left", "Points still to come", ranges.POINTS_LEFT, 0.0, "0 when it has ended."),
            _BOTTLES,
            maybe("ten_teaspoons_g", "Ten level teaspoons weigh", ranges.TEN_TEASPOONS_G, None),
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
            must("volumes", "Carbonation", ranges.VOLUMES),
            must("temp_c", "Bottle", ranges.BEER_C),
            maybe("headspace_percent", "Headspace", ranges.HEADSPACE_PERCENT, USUAL_HEADSPACE_PERCENT),
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
            must("residual_volumes", "Held when bottled", ranges.VOLUMES),
            must("wanted_volumes", "Wanted in the end", ranges.VOLUMES),
            must("temp_c", "Bottles", ranges.BEER_C),
            maybe("days", "Days since bottling", ranges.DAYS, 0.0),
            Argument(
                "squeezes",
                "Witness bottle",
                "A soft plastic bottle filled with the others: firm or not, on which day.",
                type=ArgumentType.OBJECTS,
                required=False,
                fields=(
                    must("days", "Day", ranges.DAYS),
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
            must("volumes", "Carbonation wanted", ranges.VOLUMES),
            must("temp_c", "Keg", ranges.BEER_C),
            maybe("start_volumes", "Held at the start", ranges.VOLUMES, None),
            maybe("warmest_c", "Warmest since the end", ranges.BEER_C, 20.0),
        ),
    ),
)

BEER: tuple[Call, ...] = (*_FERMENTING, *_PACKAGING)
