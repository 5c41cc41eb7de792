"""Alarms about the temperature of beer, wort and bottles.

The deadband and delay of the band alarms are the usual starting points for a temperature under
ANSI/ISA-18.2 (1 % of range, 60 s; from memory), lengthened for a fermenter, which changes slowly.
"""

from service.alarms.catalogue.entry import BOTTLES, GAS, HOT_LIQUID, HOUR, MAINS, MINUTE, AlarmType
from service.alarms.catalogue.stages import COLD_IN, SLOW_IN, WARM_IN
from service.alarms.model import Priority

TEMPERATURES = (
    AlarmType(
        key="above-band",
        title="too warm",
        cause="The liquid is warmer than the band of its stage, for as long as the stage's delay.",
        consequence="In the first days warmth brings harsh, fruity and solvent-like flavours that"
        " stay in the beer; later it matters less.",
        advice="Move the vessel somewhere cooler, take lagging off, or wrap it in a wet cloth in moving air."
        " Set one frozen half-litre bottle against it and look again in two hours.",
        helper="Please make it cooler: open the cupboard door or lay a wet cloth around the vessel,"
        " and do not open the vessel itself.",
        respond_within_s=2 * HOUR,
        priority=Priority.MEDIUM,
        priority_rule="By stage. While the beer ferments: high until a third has fermented or 72"
        " hours after pitching,"
        " then low.",
        after_s=10 * MINUTE,
        clear_after_s=10 * MINUTE,
        deadband_c=0.3,
        cautions=(GAS,),
        in_stages=WARM_IN,
    ),
    AlarmType(
        key="below-band",
        title="too cold",
        cause="The liquid is colder than the band of its stage, for as long as the stage's delay.",
        consequence="Cold yeast slows, may settle and may leave the beer unfinished.",
        advice="Move the vessel somewhere warmer, off the floor, or lag it. Warm it slowly.",
        helper="Please make it warmer: close the door, lift the vessel off the floor or wrap a"
        " blanket around it,"
        " and do not open the vessel itself.",
        respond_within_s=4 * HOUR,
        priority=Priority.MEDIUM,
        priority_rule="By stage. While the beer ferments: medium until it is nearly done, then low.",
        after_s=10 * MINUTE,
        clear_after_s=10 * MINUTE,
        deadband_c=0.3,
        cautions=(MAINS,),
        in_stages=COLD_IN,
    ),
    AlarmType(
        key="heading-out",
        title="heading out of its band",
        cause="The forecast leaves the band within the time looked ahead.",
        consequence="Left alone, the beer leaves its band; a small thing done now is enough to keep it in.",
        advice="Do the small thing that the forecast names, and look again after the time it gives.",
        helper="Please do the one small thing named in this message; nothing is wrong yet.",
        respond_within_s=6 * HOUR,
        priority=Priority.LOW,
        after_s=30 * MINUTE,
        clear_after_s=HOUR,
        deadband_c=0.2,
    ),
    AlarmType(
        key="fast-change",
        title="changing too fast",
        cause="The temperature changes at a rate this vessel cannot have without a cause, or it has"
        " fallen more"
        " than 2.5 C (4.5 F) in a day before the fermentation has ended.",
        consequence="Something was moved, opened or switched, or the probe has slipped. A fast fall"
        " can stall the yeast.",
        advice="Look at the vessel and its probe. Undo what cools or heats it, and bring it back slowly.",
        helper="Please look whether the vessel was moved, opened or left near something hot or cold,"
        " and put it back as it was.",
        respond_within_s=HOUR,
        priority=Priority.MEDIUM,
        after_s=5 * MINUTE,
        clear_after_s=30 * MINUTE,
        deadband_c=0.2,
    ),
    AlarmType(
        key="not-reached",
        title="has not reached its band",
        cause="The band of the stage was not reached in the time the plan gives.",
        consequence="The stage has not really begun, and the beer waits too warm or too cold.",
        advice="Help it towards its target, or give the stage more time if that is what you want.",
        helper="Please tell the brewer that the vessel is not at the temperature it should have by now.",
        respond_within_s=6 * HOUR,
        priority=Priority.MEDIUM,
        after_s=60.0,
        clear_after_s=60.0,
        in_stages=SLOW_IN,
    ),
    AlarmType(
        key="near-boil",
        title="about to boil",
        cause="The kettle climbs steadily and reaches its own boiling plateau within minutes.",
        consequence="Wort foams up as it begins to boil, and boils over in seconds.",
        advice="Go to the kettle now. Lid off, heat down, spoon in hand; stir the foam down.",
        helper="Please go to the kettle now, turn the heat down and take the lid off; touch nothing else.",
        respond_within_s=2 * MINUTE,
        priority=Priority.HIGH,
        after_s=15.0,
        clear_after_s=60.0,
        deadband_c=0.5,
        cautions=(HOT_LIQUID, MAINS),
        tells_return=False,
    ),
    AlarmType(
        key="near-freezing",
        title="close to freezing",
        cause="Beer or bottles are near -1 C (30 F), or falling so fast that they will be within the hour.",
        consequence="Ice takes the water out of the beer, lifts lids and bursts bottles.",
        advice="Stop the cooling now. Let it warm slowly where it stands; handle nothing that may"
        " have frozen.",
        helper="Please switch the fridge off or take the vessel out of the cold; leave bottles where"
        " they are.",
        respond_within_s=HOUR,
        priority=Priority.HIGH,
        after_s=5 * MINUTE,
        clear_after_s=15 * MINUTE,
        deadband_c=0.5,
        cautions=(
            "Glass bottles that have frozen may be cracked or under pressure: do not handle them; cover them,"
            " let them thaw where they stand, and wear face and hand protection.",
            MAINS,
        ),
    ),
    AlarmType(
        key="bottles-warm",
        title="bottles too warm",
        cause="The bottles are above 28 C (82 F).",
        consequence="Pressure rises with warmth; a bottle with a little too much sugar in it bursts,"
        " and warm beer ages fast.",
        advice="Cool the room, not the bottles by hand: shade, air, a cooler floor. Move the crate"
        " only once it has cooled.",
        helper="Please shade and air the room, and do not touch or carry the bottles while they are warm.",
        respond_within_s=2 * HOUR,
        priority=Priority.HIGH,
        after_s=15 * MINUTE,
        clear_after_s=30 * MINUTE,
        deadband_c=1.0,
        cautions=(BOTTLES,),
    ),
)
