"""From draws and direct readings to one word, with the reasons in sentences. Plain Python."""

import math
from dataclasses import dataclass

from service.thermal.results import Verdict

BEGUN_PT = 3.0
USUAL_LOW = 0.68
TOO_SOON_H = 12.0
ENDED_PT = 1.2
STOPPED_FOR_SURE = 0.92
"""Weight of an early stop from which on it is said: beer merely near its end hardly ever reaches it."""

STOPPED_PERHAPS = 0.03

WARM_SHARE = 0.68
"""Yeast at 15 C does about this share of what it does at 20 C."""

MOST_HIDDEN = 0.6
SETTLED_AFTER_H = 48.0
"""So long after a move the vessel's new place is not told from the heat of the beer."""


@dataclass(frozen=True, slots=True)
class Late:
    """A direct reading: hours from pitching, apparent attenuation, points still to come, and its error."""

    hour: float
    attenuation: float
    still_to_come_pt: float
    error_pt: float


@dataclass(frozen=True, slots=True)
class Findings:
    """What the draws say, as plain numbers: chances, upper ends (95 %), and the direct readings.

    hour, warped: hours since pitching and hours at 20 C that do as much. idle: chance that hardly anything
    has fermented. drop_seen_pt: the largest drop a direct reading shows. foam_seen: something was seen that
    only fermentation does. hidden: share that a slow, even fermentation could have reached unseen (mean and
    one spread). moved_h_ago: hours since the vessel was last moved.
    """

    hour: float
    warped: float
    begun: float
    upper_day_pt: float
    day_pt: float
    fastest_pt: float
    width_pt: float
    none: float
    idle: float
    stopped: float
    drop_seen_pt: float
    foam_seen: bool
    readings: tuple[Late, ...]
    og_pt: float
    low_attenuation: float | None
    jar_attenuation: float | None
    hidden: float = 0.0
    moved_h_ago: float = math.inf


@dataclass(frozen=True, slots=True)
class Word:
    """The verdict and why."""

    verdict: Verdict
    evidence: tuple[str, ...]


def _wanted(found: Findings) -> float:
    if found.jar_attenuation is not None:
        return found.jar_attenuation - 0.03
    return found.low_attenuation if found.low_attenuation is not None else USUAL_LOW


def by_readings(found: Findings) -> Word | None:
    """`finished`, `stopped-early` or `possibly-stopped` where a reading was taken after the activity."""
    late = [r for r in found.readings if r.still_to_come_pt < 1.5 and r.error_pt <= 1.5]
    if not late:
        return None
    wanted, last = _wanted(found), late[-1]
    percent = f"{100 * last.attenuation:.0f} % apparent attenuation"
    if last.attenuation >= wanted:
        return Word(Verdict.FINISHED, (f"A direct reading after activity ended shows {percent}.",))
    twice = any(
        last.hour - r.hour >= 24 and abs(last.attenuation - r.attenuation) * found.og_pt < 1.5
        for r in late[:-1]
    )
    if twice and last.attenuation >= wanted - 0.04:
        return Word(Verdict.FINISHED, (f"Two direct readings a day apart agree at {percent}.",))
    if last.attenuation < wanted - 0.08:
        return Word(
            Verdict.STOPPED_EARLY,
            (
                f"Activity has ended, but a direct reading shows only {percent}; "
                f"at least {100 * wanted:.0f} % was expected.",
            ),
        )
    return Word(
        Verdict.POSSIBLY_STOPPED,
        (f"Activity has ended at {percent}, a little short of {100 * wanted:.0f}: measure again in a day.",),
    )


def _idle(found: Findings) -> Word:
    """No heat for longer than a start takes: `not-started`, unless something could hide it."""
    cool = found.warped < WARM_SHARE * found.hour
    if cool or found.moved_h_ago < SETTLED_AFTER_H or found.hidden > MOST_HIDDEN:
        where = "in beer this cool" if cool else "beside what is not known of this vessel"
        sentence = f"No heat is seen, but {where} a slow fermentation can hide: take a reading."
        return Word(Verdict.UNKNOWN, (sentence,))
    return Word(
        Verdict.NOT_STARTED,
        (
            f"No heat of fermentation in {found.hour:.0f} hours, in beer warm enough to have begun.",
            "A very slow fermentation could hide below what heat can show: a reading would tell.",
        ),
    )


def word(found: Findings) -> Word:
    """One word for the state. Heat alone never says more than that activity has ended."""
    seen = found.foam_seen or found.drop_seen_pt > 2.5
    begun = found.begun > 0.9 or (seen and found.begun > 0.5)
    if begun and found.upper_day_pt < ENDED_PT and found.none < 0.1:
        settled = by_readings(found)
        if settled is not None:
            return settled
        if found.stopped > STOPPED_FOR_SURE:
            return Word(
                Verdict.POSSIBLY_STOPPED,
                ("The heat stopped sooner than such a beer would be expected to finish: take a reading.",),
            )
        quiet = f"No heat above the noise: below {found.upper_day_pt:.1f} points a day. Take a reading now."
        either = "Its heat leaves open whether it finished or stopped early."
        return Word(Verdict.ENDED, (quiet, either) if found.stopped > STOPPED_PERHAPS else (quiet,))
    if begun and found.stopped > STOPPED_FOR_SURE and found.upper_day_pt < 2.5:
        return Word(Verdict.POSSIBLY_STOPPED, ("The heat fell early and has nearly gone: take a reading.",))
    if not seen and found.idle > 0.7 and found.hour >= 60 and found.warped >= 45:
        return _idle(found)
    if found.hour >= 72 and found.width_pt > 25 and found.begun < 0.9 and not seen:
        return Word(Verdict.UNKNOWN, ("The temperatures fit too many stories: take a reading.",))
    if found.hour < TOO_SOON_H and not seen:
        return Word(Verdict.WAITING, ("Too soon after pitching to tell.",))
    if found.begun > 0.8 or seen:
        if found.day_pt < 0.4 * found.fastest_pt and found.begun > 0.8:
            return Word(
                Verdict.SLOWING,
                (f"Some {found.day_pt:.1f} points in the coming day, {found.fastest_pt:.0f} at its best.",),
            )
        return Word(Verdict.WORKING, ("The beer gives off heat that the room does not explain.",))
    return Word(Verdict.WAITING, ("No fermentation heat is sure yet.",))
