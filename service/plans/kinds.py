"""The kinds of stage, and what a stage of each kind means where its plan says nothing."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

MINUTE_S = 60.0
HOUR_S = 3600.0


class StageKind(StrEnum):
    """What is done in a stage; it settles the band, the delays and the priorities not given."""

    MASH = "mash"
    BOIL = "boil"
    STEEP = "steep"
    CHILL = "chill"
    STAND = "stand"
    HOLD = "hold"
    PRIMARY = "primary"
    REST = "rest"
    CRASH = "crash"
    CONDITION = "condition"


class StagePriority(StrEnum):
    """How urgent a stray is. BY_PHASE: settled by how far the fermentation has come."""

    LOW = "low"
    MEDIUM = "medium"
    HIGH = "high"
    BY_PHASE = "by-phase"


class BandRule(StrEnum):
    """Where the limits of a kind lie that its stage does not give."""

    AROUND_TARGET = "around-target"
    """From target - below_c to target + above_c."""
    NEAR_BOILING = "near-boiling"
    """From the boiling point - below_c upwards; no upper limit."""
    UP_TO_TARGET = "up-to-target"
    """At or below the target; no lower limit."""
    COLD = "cold"
    """From freezing water, 0 C, to target + above_c."""
    NONE = "none"
    """No limits."""


@dataclass(frozen=True, slots=True)
class KindDefaults:
    """What a kind of stage takes where its plan is silent.

    below_c, above_c: distances from the target (`BandRule` says how they are used). alarm_after_s and
    clear_after_s: how long outside or inside the band before an alarm is raised or returns; None: the
    kind has no such alarm. deadband_c: how far inside the band it must come back. reach_within_s: how
    long it may take to reach the band; None: not watched. warm_priority, cold_priority: of a stray
    above or below; None: no alarm. overdue_after_s: from due to overdue. needs_target: a stage of this
    kind means nothing without a target. kettle: wort in the kettle, before any yeast is in it.
    coldest_c, warmest_c: targets outside these are taken for slips of the pen.
    """

    band: BandRule
    below_c: float
    above_c: float
    alarm_after_s: float | None
    clear_after_s: float | None
    deadband_c: float | None
    reach_within_s: float | None
    warm_priority: StagePriority | None
    cold_priority: StagePriority | None
    overdue_after_s: float
    needs_target: bool
    kettle: bool
    coldest_c: float
    warmest_c: float


_NO_BAND = KindDefaults(
    band=BandRule.NONE,
    below_c=0.0,
    above_c=0.0,
    alarm_after_s=None,
    clear_after_s=None,
    deadband_c=None,
    reach_within_s=None,
    warm_priority=None,
    cold_priority=None,
    overdue_after_s=15 * MINUTE_S,
    needs_target=False,
    kettle=False,
    coldest_c=-5.0,
    warmest_c=105.0,
)

KINDS: Mapping[StageKind, KindDefaults] = MappingProxyType(
    {
        StageKind.MASH: KindDefaults(
            band=BandRule.AROUND_TARGET,
            below_c=1.5,
            above_c=1.5,
            alarm_after_s=60.0,
            clear_after_s=60.0,
            deadband_c=0.3,
            reach_within_s=900.0,
            warm_priority=StagePriority.MEDIUM,
            cold_priority=StagePriority.MEDIUM,
            overdue_after_s=5 * MINUTE_S,
            needs_target=True,
            kettle=True,
            coldest_c=20.0,
            warmest_c=90.0,
        ),
        StageKind.BOIL: KindDefaults(
            band=BandRule.NEAR_BOILING,
            below_c=2.0,
            above_c=0.0,
            alarm_after_s=60.0,
            clear_after_s=60.0,
            deadband_c=0.5,
            reach_within_s=None,
            warm_priority=None,
            cold_priority=StagePriority.MEDIUM,
            overdue_after_s=5 * MINUTE_S,
            needs_target=False,
            kettle=True,
            coldest_c=80.0,
            warmest_c=105.0,
        ),
        StageKind.STEEP: KindDefaults(
            band=BandRule.AROUND_TARGET,
            below_c=4.0,
            above_c=4.0,
            alarm_after_s=60.0,
            clear_after_s=60.0,
            deadband_c=0.5,
            reach_within_s=None,
            warm_priority=StagePriority.LOW,
            cold_priority=StagePriority.LOW,
            overdue_after_s=5 * MINUTE_S,
            needs_target=True,
            kettle=True,
            coldest_c=0.0,
            warmest_c=100.0,
        ),
        StageKind.CHILL: KindDefaults(
            band=BandRule.UP_TO_TARGET,
            below_c=0.0,
            above_c=0.0,
            alarm_after_s=None,
            clear_after_s=None,
            deadband_c=0.3,
            reach_within_s=None,
            warm_priority=None,
            cold_priority=None,
            overdue_after_s=15 * MINUTE_S,
            needs_target=True,
            kettle=True,
            coldest_c=-2.0,
            warmest_c=100.0,
        ),
        StageKind.STAND: _NO_BAND,
        StageKind.HOLD: _NO_BAND,
        StageKind.PRIMARY: KindDefaults(
            band=BandRule.AROUND_TARGET,
            below_c=2.0,
            above_c=2.0,
            alarm_after_s=600.0,
            clear_after_s=600.0,
            deadband_c=0.3,
            reach_within_s=6 * HOUR_S,
            warm_priority=StagePriority.BY_PHASE,
            cold_priority=StagePriority.BY_PHASE,
            overdue_after_s=24 * HOUR_S,
            needs_target=True,
            kettle=False,
            coldest_c=2.0,
            warmest_c=45.0,
        ),
        StageKind.REST: KindDefaults(
            band=BandRule.AROUND_TARGET,
            below_c=1.5,
            above_c=1.5,
            alarm_after_s=1800.0,
            clear_after_s=1800.0,
            deadband_c=0.3,
            reach_within_s=24 * HOUR_S,
            warm_priority=StagePriority.LOW,
            cold_priority=StagePriority.MEDIUM,
            overdue_after_s=24 * HOUR_S,
            needs_target=True,
            kettle=False,
            coldest_c=0.0,
            warmest_c=45.0,
        ),
        StageKind.CRASH: KindDefaults(
            band=BandRule.COLD,
            below_c=0.0,
            above_c=2.0,
            alarm_after_s=3600.0,
            clear_after_s=3600.0,
            deadband_c=0.5,
            reach_within_s=48 * HOUR_S,
            warm_priority=StagePriority.LOW,
            cold_priority=StagePriority.HIGH,
            overdue_after_s=24 * HOUR_S,
            needs_target=True,
            kettle=False,
            coldest_c=-3.0,
            warmest_c=25.0,
        ),
        StageKind.CONDITION: KindDefaults(
            band=BandRule.AROUND_TARGET,
            below_c=4.0,
            above_c=4.0,
            alarm_after_s=3600.0,
            clear_after_s=3600.0,
            deadband_c=0.5,
            reach_within_s=48 * HOUR_S,
            warm_priority=StagePriority.MEDIUM,
            cold_priority=StagePriority.LOW,
            overdue_after_s=48 * HOUR_S,
            needs_target=True,
            kettle=False,
            coldest_c=-2.0,
            warmest_c=45.0,
        ),
    }
)
