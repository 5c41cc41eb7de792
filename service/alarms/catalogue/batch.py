"""Alarms about a batch's course: stages that want a hand, and what the heat says of the fermentation."""

from service.alarms.catalogue.entry import BOTTLES, DAY, GAS, HOUR, MINUTE, AlarmType
from service.alarms.model import Priority

BATCH = (
    AlarmType(
        key="stage-due",
        title="wants you",
        cause="A stage has come to its end or to one of its prompts, and waits for the brewer.",
        consequence="The batch stays where it is until you say so.",
        advice="Do what the stage asks, and say on the page that it is done; or give the stage more time.",
        helper="Please tell the brewer that the next step is due; nothing is wrong.",
        respond_within_s=DAY,
        priority=Priority.LOW,
        after_s=0.0,
        clear_after_s=0.0,
        tells_return=False,
    ),
    AlarmType(
        key="stage-overdue",
        title="has waited long for you",
        cause="A stage has waited for the brewer longer than its kind allows.",
        consequence="A mash cools, hops go on giving bitterness, a beer stays on its yeast: waiting"
        " has begun to cost.",
        advice="Do what the stage asks, and say on the page that it is done; or give the stage more time.",
        helper="Please tell the brewer that a step has been waiting and should be done soon.",
        respond_within_s=12 * HOUR,
        priority=Priority.MEDIUM,
        after_s=0.0,
        clear_after_s=0.0,
        tells_return=False,
    ),
    AlarmType(
        key="not-started",
        title="has not started to ferment",
        cause="Long after pitching, the estimate sees no heat of fermentation.",
        consequence="Wort that does not ferment spoils.",
        advice="Look for foam, take a gravity reading, and check the temperature. If nothing has moved,"
        " pitch fresh yeast; keep everything clean.",
        helper="Please look whether there is foam on the beer, through the wall or lid, without opening it,"
        " and tell the brewer.",
        respond_within_s=12 * HOUR,
        priority=Priority.MEDIUM,
        after_s=2 * HOUR,
        clear_after_s=2 * HOUR,
    ),
    AlarmType(
        key="stopped-early",
        title="may have stopped early",
        cause="The estimate sees the fermentation at rest while much is left to ferment.",
        consequence="Bottled like this it goes on in the bottle, and bottles burst.",
        advice="Do not package. Take a gravity reading, warm the beer by a degree or two, rouse the"
        " yeast gently,"
        " and measure again after two days.",
        helper="Please make it a little warmer, for instance with a blanket, and tell the brewer.",
        respond_within_s=DAY,
        priority=Priority.MEDIUM,
        after_s=2 * HOUR,
        clear_after_s=2 * HOUR,
        cautions=(BOTTLES, GAS),
    ),
    AlarmType(
        key="sample-due",
        title="time to measure",
        cause="The activity has ended: no heat above the noise any more.",
        consequence="Heat cannot show that fermentation is over; only readings of gravity can.",
        advice="Take a gravity reading now and another one two days later, and enter both.",
        helper="Please tell the brewer that it is time to take a sample; nothing is wrong.",
        respond_within_s=2 * DAY,
        priority=Priority.LOW,
        after_s=HOUR,
        clear_after_s=HOUR,
        tells_return=False,
    ),
    AlarmType(
        key="disturbed",
        title="something heats or cools it",
        cause="The vessel gains or loses heat that neither the room nor the yeast explains, and"
        " nobody mentioned.",
        consequence="The estimate of gravity rests until this is known; the temperature is still watched.",
        advice="If a heater, a fridge, a bath or lagging is at work, say so on the vessel's page;"
        " else look for the cause.",
        helper="Please look whether something hot, cold or switched on stands next to the vessel,"
        " and tell the brewer.",
        respond_within_s=DAY,
        priority=Priority.LOW,
        after_s=30 * MINUTE,
        clear_after_s=2 * HOUR,
    ),
)
