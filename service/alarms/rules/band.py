"""The liquid against the band of its stage."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from service.alarms.catalogue import CATALOGUE
from service.alarms.model import Finding, Presence, Priority
from service.alarms.rules.about import About, found, of_vessel, unknown
from service.alarms.words import span


class Side(StrEnum):
    """Which limit of a band."""

    WARM = "warm"
    COLD = "cold"


@dataclass(frozen=True, slots=True)
class Limits:
    """The band that holds now, in C; None: no limit on that side. None elsewhere: the catalogue's value."""

    low_c: float | None = None
    high_c: float | None = None
    target_c: float | None = None
    deadband_c: float | None = None
    after_s: float | None = None
    clear_after_s: float | None = None


def band_finding(
    about: About,
    side: Side,
    temp_c: float | None,
    limits: Limits,
    priority: Priority | None,
    held_back: bool = False,
) -> Finding:
    """above-band or below-band. temp_c: the calibrated sample of this sweep, None without one.

    priority None: the stage has no alarm on this side. held_back: the band has not been reached yet and
    there is still time (`held_back_until_reached`).
    """
    warm = side is Side.WARM
    subject = of_vessel("above-band" if warm else "below-band", about)
    limit_c = limits.high_c if warm else limits.low_c
    if temp_c is None:
        return unknown(subject, about, "no reading: nothing is known of the band")
    if limit_c is None or priority is None:
        return found(subject, about, Presence.ABSENT, "this stage has no such limit", clear_after_s=0.0)
    if held_back:
        words = f"{about.degrees(temp_c)}, on its way to the band"
        return found(subject, about, Presence.ABSENT, words, clear_after_s=limits.clear_after_s)
    deadband = CATALOGUE[subject.key].deadband_c if limits.deadband_c is None else limits.deadband_c
    over_c = temp_c - limit_c if warm else limit_c - temp_c
    presence = _presence(over_c, deadband or 0.0)
    return found(
        subject,
        about,
        presence,
        _words(about, presence, temp_c, over_c, "over" if warm else "under"),
        _numbers(limits, temp_c, limit_c, over_c),
        priority=priority,
        after_s=limits.after_s,
        clear_after_s=limits.clear_after_s,
    )


def held_back_until_reached(
    reached: bool, entered_at: datetime, reach_within_s: float | None, now: datetime
) -> bool:
    """Whether band alarms wait: the band was not reached since the stage began, and there is still time."""
    if reached or reach_within_s is None:
        return False
    return now < entered_at + timedelta(seconds=reach_within_s)


def not_reached(
    about: About,
    temp_c: float | None,
    limits: Limits,
    *,
    reached: bool,
    entered_at: datetime,
    reach_within_s: float | None,
    priority: Priority | None = None,
) -> Finding:
    """not-reached: the band was not reached within the time the plan gives."""
    subject = of_vessel("not-reached", about)
    if reached or reach_within_s is None:
        return found(subject, about, Presence.ABSENT, "the band has been reached")
    if held_back_until_reached(reached, entered_at, reach_within_s, about.now):
        return found(subject, about, Presence.ABSENT, "there is still time to reach the band")
    if temp_c is None:
        return unknown(subject, about, "no reading: nothing is known of the band")
    until = entered_at + timedelta(seconds=reach_within_s)
    words = (
        f"{about.degrees(temp_c)}, and its band was to be reached by {about.clock(until)},"
        f" {span(reach_within_s)} after the stage began"
    )
    numbers = _numbers(limits, temp_c, limits.target_c, None)
    return found(subject, about, Presence.PRESENT, words, numbers, priority=priority)


def _presence(over_c: float, deadband_c: float) -> Presence:
    if over_c > 0.0:
        return Presence.PRESENT
    return Presence.NEAR if over_c > -deadband_c else Presence.ABSENT


def _words(about: About, presence: Presence, temp_c: float, over_c: float, way: str) -> str:
    if presence is Presence.PRESENT:
        by = f"{about.difference(over_c)} {way}" if over_c >= 0.05 else f"just {way}"
        return f"{about.degrees(temp_c)} since {about.began()}, {by} the band"
    if presence is Presence.NEAR:
        return f"{about.degrees(temp_c)}, only just inside the band"
    return f"{about.degrees(temp_c)}, inside the band"


def _numbers(
    limits: Limits, temp_c: float, limit_c: float | None, over_c: float | None
) -> dict[str, float | str]:
    given = {
        "now_c": temp_c,
        "limit_c": limit_c,
        "over_c": over_c,
        "low_c": limits.low_c,
        "high_c": limits.high_c,
        "target_c": limits.target_c,
    }
    return {name: round(value, 3) for name, value in given.items() if value is not None}
