"""Stages that want the brewer, and what forecast and estimate say of the batch."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from service.alarms.model import Finding, Presence
from service.alarms.rules.about import About, found, of_stage, of_vessel, unknown
from service.alarms.rules.band import Side


def stage_due(about: About, due_at: datetime | None, say: str) -> Finding:
    """stage-due: a stage or one of its prompts waits for a hand. about.other tells them apart.

    due_at: since when; None when nothing is asked (any more). say: what is asked, without a full stop.
    """
    return _due("stage-due", about, due_at, say)


def stage_overdue(about: About, overdue_at: datetime | None, say: str) -> Finding:
    """stage-overdue: it has waited longer than its kind allows. overdue_at: from when it counts as late."""
    return _due("stage-overdue", about, overdue_at, say)


@dataclass(frozen=True, slots=True)
class Heading:
    """What a forecast says: when the band is left (None: not that it can see), which way, what helps."""

    leaves_at: datetime | None
    side: Side = Side.WARM
    limit_c: float | None = None
    advice: str | None = None


LOOK_AHEAD_H = 12.0


def heading_out(about: About, heading: Heading | None, look_ahead_h: float = LOOK_AHEAD_H) -> Finding:
    """heading-out: the forecast leaves the band within the look-ahead. None: there is no forecast."""
    subject = of_vessel("heading-out", about)
    if heading is None:
        return unknown(subject, about, "there is no forecast")
    ahead = timedelta(hours=look_ahead_h)
    if heading.leaves_at is None or heading.leaves_at > about.now + ahead:
        return found(
            subject, about, Presence.ABSENT, f"the forecast stays in the band for {look_ahead_h:g} h"
        )
    way = "too warm" if heading.side is Side.WARM else "too cold"
    words = f"{way} from about {about.clock(heading.leaves_at)}, by the forecast"
    numbers = {} if heading.limit_c is None else {"limit_c": heading.limit_c}
    return found(subject, about, Presence.PRESENT, words, numbers, advice=heading.advice)


def not_started(about: About, verdict: bool | None, evidence: str) -> Finding:
    """not-started, by the estimate: None is not known; evidence is its reason in words."""
    return _verdict("not-started", about, verdict, evidence)


def stopped_early(about: About, verdict: bool | None, evidence: str) -> Finding:
    """stopped-early, by the estimate: None is not known; evidence is its reason in words."""
    return _verdict("stopped-early", about, verdict, evidence)


def sample_due(about: About, verdict: bool | None, evidence: str) -> Finding:
    """sample-due: the activity has ended and nobody has measured. None is not known."""
    return _verdict("sample-due", about, verdict, evidence)


def disturbed(about: About, verdict: bool | None, evidence: str) -> Finding:
    """disturbed: heat that neither room nor yeast explains. None is not known."""
    return _verdict("disturbed", about, verdict, evidence)


def _due(key: str, about: About, at: datetime | None, say: str) -> Finding:
    subject = of_stage(key, about)
    if at is None or at > about.now:
        return found(subject, about, Presence.ABSENT, "nothing is asked")
    return found(subject, about, Presence.PRESENT, f"{say} (since {about.clock(at)})")


def _verdict(key: str, about: About, verdict: bool | None, evidence: str) -> Finding:
    subject = of_vessel(key, about)
    if verdict is None:
        return unknown(subject, about, evidence or "not known yet")
    return found(subject, about, Presence.PRESENT if verdict else Presence.ABSENT, evidence)
