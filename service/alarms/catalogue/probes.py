"""Alarms about probes: silence, faults, and readings that are not of the beer."""

from service.alarms.catalogue.entry import DAY, HOUR, MAINS, MINUTE, AlarmType
from service.alarms.model import Priority

PROBES = (
    AlarmType(
        key="no-reading",
        title="no reading",
        cause="Nothing was believed from the probe for three of its intervals, and for at least 30 seconds.",
        consequence="Nobody is watching this vessel: no temperature alarm can be raised or cleared"
        " until it is back.",
        advice="Look at the probe, its plug and its cable; for a probe that sends by itself, at its"
        " power and network."
        " `gylewatch probes` shows what is on the bus.",
        helper="Please look whether the probe's cable is plugged in at both ends, and plug it back"
        " if it is not.",
        respond_within_s=HOUR,
        priority=Priority.HIGH,
        after_s=0.0,
        clear_after_s=MINUTE,
        cautions=(MAINS,),
    ),
    AlarmType(
        key="probe-fault",
        title="probe often fails",
        cause="More than a tenth of the probe's readings in the last hour were faults.",
        consequence="Readings are missing and the probe may soon fall silent.",
        advice="Mend the wiring: the joint, the cable's length, the pull-up resistor. The probe's"
        " page names each fault.",
        helper="Please leave the cable as it lies and tell the brewer; a loose plug may be pushed in.",
        respond_within_s=DAY,
        priority=Priority.MEDIUM,
        after_s=10 * MINUTE,
        clear_after_s=HOUR,
    ),
    AlarmType(
        key="probe-frozen",
        title="reading never changes",
        cause="The probe has given exactly the same value for unnaturally long.",
        consequence="The value may be an old one: the beer may be elsewhere.",
        advice="Warm the probe in your hand and see whether it follows. Unplug it and plug it in"
        " again; else replace it.",
        helper="Please unplug the probe, count to ten, and plug it in again.",
        respond_within_s=12 * HOUR,
        priority=Priority.MEDIUM,
        after_s=0.0,
        clear_after_s=10 * MINUTE,
    ),
    AlarmType(
        key="probe-adrift",
        title="probe has come off",
        cause="The probe of the liquid follows the room instead of the vessel.",
        consequence="What is shown is the room: the beer is unwatched, and looks well or ill by chance.",
        advice="Fix the probe to the vessel again, under foam, or put it back into its well."
        " If you moved it on purpose, tell gylewatch where it is now.",
        helper="Please press the probe back against the side of the vessel and hold it there with"
        " tape and a folded cloth.",
        respond_within_s=HOUR,
        priority=Priority.HIGH,
        after_s=0.0,
        clear_after_s=10 * MINUTE,
    ),
)
