"""The rules: from plain evidence to findings, one function for each alarm type."""

from service.alarms.rules.about import About, gone
from service.alarms.rules.band import Limits, Side, band_finding, held_back_until_reached, not_reached
from service.alarms.rules.course import (
    Heading,
    disturbed,
    heading_out,
    not_started,
    sample_due,
    stage_due,
    stage_overdue,
    stopped_early,
)
from service.alarms.rules.extremes import bottles_warm, fast_change, near_boil, near_freezing
from service.alarms.rules.itself import (
    backup_old,
    channel_failing,
    clock_untrusted,
    disk_low,
    record_damaged,
    was_down,
)
from service.alarms.rules.phase import phase_priority
from service.alarms.rules.probes import no_reading, probe_adrift, probe_fault, probe_frozen, silent_limit_s
from service.alarms.rules.trend import boiling_plateau_c, slope_c_per_h

__all__ = [
    "About",
    "Heading",
    "Limits",
    "Side",
    "backup_old",
    "band_finding",
    "boiling_plateau_c",
    "bottles_warm",
    "channel_failing",
    "clock_untrusted",
    "disk_low",
    "disturbed",
    "fast_change",
    "gone",
    "heading_out",
    "held_back_until_reached",
    "near_boil",
    "near_freezing",
    "no_reading",
    "not_reached",
    "not_started",
    "phase_priority",
    "probe_adrift",
    "probe_fault",
    "probe_frozen",
    "record_damaged",
    "sample_due",
    "silent_limit_s",
    "slope_c_per_h",
    "stage_due",
    "stage_overdue",
    "stopped_early",
    "was_down",
]
