"""What is put before the judge: plain values, gathered by the watch."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from zoneinfo import ZoneInfo

from sensors.sample import FaultKind
from service.alarms.rules import Heading
from service.alarms.words import Units
from service.plans.dues import ShareReached


@dataclass(frozen=True, slots=True)
class ProbeEvidence:
    """One probe as the watch has it.

    temp_c: the last believed value, None while silent. silent_s: since anything was believed.
    looks_1h and faults_1h: how many values were asked for in the last hour, and the faults among them.
    slope_c_per_min: over the last two minutes. day_ago_c: the mean of the hour a day ago.
    same_for_s: for how long a frozen probe has stood still, 0 while the value moves, None while it is
    silent; frozen_after_s: from when on that is unnatural.
    """

    temp_c: float | None
    last_at: datetime | None
    last_c: float | None
    silent_s: float
    interval_s: float
    looks_1h: int | None = None
    faults_1h: Mapping[FaultKind, int] = field(default_factory=dict)
    trend_c_per_h: float | None = None
    slope_c_per_min: float | None = None
    same_for_s: float | None = None
    frozen_after_s: float = 12 * 3600.0
    day_ago_c: float | None = None
    plateau_c: float | None = None


@dataclass(frozen=True, slots=True)
class Insight:
    """What computations say of a batch; None: not known. reasons in words.

    tau_h: the time constant of its vessel as it was fitted last, hours.
    """

    heading: Heading | None = None
    adrift: bool | None = None
    not_started: bool | None = None
    stopped_early: bool | None = None
    sample_due: bool | None = None
    disturbed: bool | None = None
    share_fermented: float | None = None
    share_reached: ShareReached | None = None
    activity_ended: bool | None = None
    tau_h: float | None = None
    evidence: str = ""


@dataclass(frozen=True, slots=True)
class SelfEvidence:
    """How the watch itself fares.

    down_s: how long nobody watched before this start, None when it was not down. clock_doubt: why the
    clock is not believed, empty when it is. stuck: by channel, its name, for how many seconds its oldest
    message has failed, and the far end's words. backup_age_s, kept_for_s, backup_failure: of the newest
    backup, of the record itself, and why the last backup failed; None: not known.
    """

    down_s: float | None = None
    meanwhile: str = ""
    clock_doubt: str = ""
    free_bytes: int | None = None
    stuck: Mapping[str, tuple[str, float | None, str]] = field(default_factory=dict)
    set_aside: str | None = None
    backup_age_s: float | None = None
    kept_for_s: float | None = None
    backup_failure: str = ""


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything one judgement looks at.

    looked_at: when it was looked before, None when never. stages_at: the time by which stages elapse and
    ask, None when that is now; so looked_at goes by it.
    """

    now: datetime
    tz: ZoneInfo
    units: Units
    sweep_s: float
    probes: Mapping[str, ProbeEvidence]
    insights: Mapping[str, Insight] = field(default_factory=dict)
    itself: SelfEvidence = SelfEvidence()
    looked_at: datetime | None = None
    stages_at: datetime | None = None

    @property
    def for_stages(self) -> datetime:
        """The time by which stages elapse and ask."""
        return self.now if self.stages_at is None else self.stages_at
