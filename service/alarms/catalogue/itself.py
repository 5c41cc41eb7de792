"""Alarms about the watch itself."""

from service.alarms.catalogue.entry import DAY, HOUR, MINUTE, AlarmType
from service.alarms.model import Priority

ITSELF = (
    AlarmType(
        key="was-down",
        title="the watch was down",
        cause="Nothing was recorded for at least five minutes, and three sweeps, before the watch started.",
        consequence="The record has a gap, and nobody watched during it. What the beer did in between is"
        " told as modelled where an estimate from before the gap allows it.",
        advice="Look at each vessel's temperature now. If the power failed, check what else it switched off.",
        helper="Please look whether the fridge, heater and lamp near the vessel are as they should"
        " be, and tell the brewer.",
        respond_within_s=12 * HOUR,
        priority=Priority.MEDIUM,
        after_s=0.0,
        clear_after_s=0.0,
        tells_return=False,
    ),
    AlarmType(
        key="clock-untrusted",
        title="the clock cannot be trusted",
        cause="The clock is behind what is already recorded, or has not been set since the board started.",
        consequence="Readings are kept, but their times may be marked doubtful; stages may end at"
        " the wrong time.",
        advice="Give the board a network so that it can set its clock, or set the clock by hand.",
        helper="Please look whether the house's internet router is switched on, and tell the brewer.",
        respond_within_s=DAY,
        priority=Priority.MEDIUM,
        after_s=10 * MINUTE,
        clear_after_s=0.0,
    ),
    AlarmType(
        key="disk-low",
        title="the disk is nearly full",
        cause="Little room is left on the disk that holds the record.",
        consequence="Backups are dropped first; when nothing is left, new readings cannot be kept.",
        advice="Delete what does not belong there, or move the record to a larger card.",
        helper="Please tell the brewer; there is nothing to do at the vessel.",
        respond_within_s=DAY,
        priority=Priority.MEDIUM,
        after_s=10 * MINUTE,
        clear_after_s=10 * MINUTE,
    ),
    AlarmType(
        key="backup-old",
        title="no recent backup",
        cause="The newest good backup is too old, or the last one failed.",
        consequence="If the card dies now, everything since then is lost.",
        advice="Run `gylewatch record backup` and read what it says; look at the place the backups go to.",
        helper="Please tell the brewer; there is nothing to do at the vessel.",
        respond_within_s=3 * DAY,
        priority=Priority.MEDIUM,
        after_s=HOUR,
        clear_after_s=0.0,
    ),
    AlarmType(
        key="channel-failing",
        title="messages do not arrive",
        cause="A message could not leave by this channel for an hour.",
        consequence="You may not hear of the next alarm.",
        advice="Use the channel's test button and read what the far end says; check its address,"
        " password and network.",
        helper="Please look whether the house's internet router is switched on, and tell the brewer.",
        respond_within_s=12 * HOUR,
        priority=Priority.MEDIUM,
        after_s=0.0,
        clear_after_s=0.0,
    ),
    AlarmType(
        key="record-damaged",
        title="the record was damaged",
        cause="The database could not be read and was set aside; nothing of it was deleted.",
        consequence="The watch goes on with a new record and the last good copy of its configuration.",
        advice="Run `gylewatch record verify` on the newest backup, then `gylewatch record restore`."
        " Replace the memory card if this is not the first time.",
        helper="Please tell the brewer; there is nothing to do at the vessel.",
        respond_within_s=12 * HOUR,
        priority=Priority.MEDIUM,
        after_s=0.0,
        clear_after_s=0.0,
        tells_return=False,
    ),
)
