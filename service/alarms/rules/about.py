"""Whom a finding is about, and how a rule makes one."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from service.alarms.model import Finding, Numbers, Presence, Priority, Subject
from service.alarms.words import Units, clock, degrees, difference


@dataclass(frozen=True, slots=True)
class About:
    """What every rule is told beside its evidence.

    now: aware UTC. tz, units: for the words. since: when the cause was first seen (`AlarmState.since`),
    None when it was not there before. stage_kind: the word of the stage's kind. other: what the subject
    is about when it is neither vessel nor probe.
    """

    now: datetime
    tz: ZoneInfo
    vessel_id: str | None = None
    vessel_name: str = ""
    probe_id: str | None = None
    probe_name: str = ""
    batch_id: str | None = None
    stage: str | None = None
    stage_kind: str = ""
    other: str | None = None
    since: datetime | None = None
    units: Units = Units.CELSIUS

    def clock(self, at: datetime) -> str:
        """A time in the brewer's zone."""
        return clock(at, self.tz, self.now)

    def began(self) -> str:
        """Since when the cause is there, in words."""
        return self.clock(self.since or self.now)

    def degrees(self, temp_c: float) -> str:
        """A temperature in the brewer's units."""
        return degrees(temp_c, self.units)

    def difference(self, by_c: float) -> str:
        """A difference in the brewer's units."""
        return difference(by_c, self.units)


def of_vessel(key: str, about: About) -> Subject:
    """An alarm of a vessel: it stays the same one when the probe is swapped."""
    return Subject(key, vessel_id=about.vessel_id)


def of_probe(key: str, about: About) -> Subject:
    """An alarm of one probe, at its vessel when it has one."""
    return Subject(key, vessel_id=about.vessel_id, probe_id=about.probe_id)


def of_other(key: str, about: About) -> Subject:
    """An alarm of the watch itself, or of one thing of it."""
    return Subject(key, other=about.other)


def of_stage(key: str, about: About) -> Subject:
    """An alarm of one stage or prompt in a vessel."""
    return Subject(key, vessel_id=about.vessel_id, other=about.other)


def found(
    subject: Subject,
    about: About,
    presence: Presence,
    reason: str,
    numbers: Numbers | None = None,
    *,
    priority: Priority | None = None,
    after_s: float | None = None,
    clear_after_s: float | None = None,
    advice: str | None = None,
    respond_within_s: float | None = None,
) -> Finding:
    """A finding with the words that messages need."""
    return Finding(
        subject=subject,
        presence=presence,
        reason=reason,
        numbers=dict(numbers or {}),
        after_s=after_s,
        clear_after_s=clear_after_s,
        priority=priority,
        batch_id=about.batch_id,
        stage=about.stage,
        advice=advice,
        respond_within_s=respond_within_s,
        names=_names(about),
    )


def unknown(subject: Subject, about: About, reason: str) -> Finding:
    """No data: nothing is raised and nothing cleared."""
    return found(subject, about, Presence.UNKNOWN, reason)


def gone(subject: Subject, reason: str) -> Finding:
    """What the alarm was about is over (a batch ended, a probe was removed): it returns at once."""
    return Finding(subject, Presence.ABSENT, reason, clear_after_s=0.0)


def _names(about: About) -> Mapping[str, str]:
    given = {
        "vessel": about.vessel_name,
        "probe": about.probe_name,
        "probe_id": about.probe_id,
        "stage_kind": about.stage_kind,
    }
    return {name: words for name, words in given.items() if words}
