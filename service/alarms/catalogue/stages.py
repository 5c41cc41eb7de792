"""What the alarms of the band say where it is no fermenting beer that is too warm or too cold.

What warmth and cold do to a mash, a boil, hops and bottles is common knowledge of the trade.
"""

from collections.abc import Mapping
from types import MappingProxyType

from service.alarms.catalogue.entry import BOTTLES, HOT_LIQUID, HOUR, MAINS, MINUTE, Words

HOT_STEPS = (HOT_LIQUID, MAINS)

WARM_IN: Mapping[str, Words] = MappingProxyType(
    {
        "mash": Words(
            consequence="A mash that is too warm makes a fuller, sweeter beer; far too warm, and the starch"
            " is not converted at all.",
            advice="Take the heat away and stir, then measure again in the middle. A little cold water,"
            " stirred in, brings it down.",
            helper="Please turn the heat under the pot off, and touch nothing else.",
            respond_within_s=10 * MINUTE,
            cautions=HOT_STEPS,
        ),
        "steep": Words(
            consequence="Hops that steep too warm give more bitterness and lose what smells.",
            advice="Take the heat away and stir; cool a little further before the time counts.",
            helper="Please turn the heat under the pot off, and touch nothing else.",
            respond_within_s=10 * MINUTE,
            cautions=HOT_STEPS,
        ),
        "crash": Words(
            consequence="A beer that is not cold enough clears more slowly; nothing is spoiled by it yet.",
            advice="See whether the place is as cold as it should be and its door shut, and give it time.",
            helper="Please look whether the door of the fridge or shed is shut, and tell the brewer.",
            respond_within_s=12 * HOUR,
            cautions=(MAINS,),
        ),
        "condition": Words(
            consequence="Warm bottles age fast, and their pressure rises with the warmth.",
            advice="Cool the room, not the bottles by hand: shade, air, a cooler floor.",
            helper="Please shade and air the room, and do not touch or carry the bottles while they are"
            " warm.",
            respond_within_s=6 * HOUR,
            cautions=(BOTTLES,),
        ),
    }
)

COLD_IN: Mapping[str, Words] = MappingProxyType(
    {
        "mash": Words(
            consequence="A mash that is too cold converts slowly and makes a thinner beer.",
            advice="Stir, then warm it gently or stir in a little hot water; measure again in the middle,"
            " and give the rest more time.",
            helper="Please put the lid and a blanket on the pot, and tell the brewer.",
            respond_within_s=10 * MINUTE,
            cautions=HOT_STEPS,
        ),
        "boil": Words(
            consequence="It does not boil: bitterness comes slowly, and what the boil should drive off"
            " stays.",
            advice="Turn the heat up, half cover the pot, and count the time again from when it boils.",
            helper="Please tell the brewer that the pot no longer boils, and touch nothing.",
            respond_within_s=5 * MINUTE,
            cautions=HOT_STEPS,
        ),
        "steep": Words(
            consequence="Hops that steep too cold give little of what is wanted from them.",
            advice="Put the lid on, warm it gently, or let it steep for longer.",
            helper="Please put the lid on the pot, and tell the brewer.",
            respond_within_s=10 * MINUTE,
            cautions=HOT_STEPS,
        ),
        "crash": Words(
            consequence="The beer is near freezing; ice takes the water out of it.",
            advice="Make the place less cold, and look again within the hour.",
            helper="Please set the fridge less cold or open its door a little, and tell the brewer.",
            respond_within_s=2 * HOUR,
            cautions=(MAINS,),
        ),
        "condition": Words(
            consequence="Yeast in cold bottles rests: the gas takes longer to form, and the beer stays flat.",
            advice="Move the crate somewhere warmer, slowly, and give it more time.",
            helper="Please close the window or door of the room where the bottles stand.",
            respond_within_s=12 * HOUR,
            cautions=(BOTTLES,),
        ),
    }
)

SLOW_IN: Mapping[str, Words] = MappingProxyType(
    {
        "mash": Words(
            consequence="The mash does not convert as planned, and its time has begun to count.",
            advice="Heat or cool it towards its target and stir; give the rest more time if it was far off.",
            helper="Please tell the brewer that the pot is not at the temperature it should have by now.",
            respond_within_s=15 * MINUTE,
            cautions=HOT_STEPS,
        ),
        "crash": Words(
            consequence="The beer does not get cold: it clears slowly, or the place cannot cool it so far.",
            advice="See whether the place is as cold as it should be, or give the stage more time.",
            helper="Please look whether the door of the fridge or shed is shut, and tell the brewer.",
            respond_within_s=12 * HOUR,
            cautions=(MAINS,),
        ),
        "condition": Words(
            consequence="The bottles wait too warm or too cold: too cold and the gas is late, too warm and"
            " they age and press harder.",
            advice="Move the crate once it is safe to, or give the stage more time if that is what you want.",
            helper="Please tell the brewer that the bottles are not at the temperature they should have by"
            " now.",
            respond_within_s=12 * HOUR,
            cautions=(BOTTLES,),
        ),
    }
)
