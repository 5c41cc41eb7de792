"""The sentence at the top of the first page: is it all right, or what is wrong. Pure.

"Lies in its band" is only ever said of vessels that are being read, have a band and lie within it; in every
other case the sentence says what is not known.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from web.views import AlarmState, AlarmView, Freshness, VesselView
from web.words import capital, counted, listed


class BandPlace(StrEnum):
    """Where a measured temperature lies against its band."""

    IN = "in"
    ABOVE = "above"
    BELOW = "below"
    NO_BAND = "no-band"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Answer:
    """wants_hand: something on the page asks for the brewer, so the sentence is marked."""

    sentence: str
    wants_hand: bool


def is_read(vessel: VesselView) -> bool:
    """Whether the newest sample can stand for now."""
    return vessel.temp_c is not None and vessel.freshness in (Freshness.FRESH, Freshness.LATE)


def place(vessel: VesselView) -> BandPlace:
    """Where the vessel lies now; UNKNOWN as soon as its sample cannot stand for now."""
    if not is_read(vessel) or vessel.temp_c is None:
        return BandPlace.UNKNOWN
    band = vessel.band
    if band is None or (band.low_c is None and band.high_c is None):
        return BandPlace.NO_BAND
    if band.high_c is not None and vessel.temp_c > band.high_c:
        return BandPlace.ABOVE
    if band.low_c is not None and vessel.temp_c < band.low_c:
        return BandPlace.BELOW
    return BandPlace.IN


def answer(vessels: Sequence[VesselView], standing: Sequence[AlarmView]) -> Answer:
    """The page's first sentence, from what stands and from where each vessel lies."""
    waiting = [a for a in standing if a.state in (AlarmState.UNACKNOWLEDGED, AlarmState.RETURNED)]
    silent = [v.name for v in vessels if v.freshness is Freshness.SILENT]
    outside = [v.name for v in vessels if place(v) in (BandPlace.ABOVE, BandPlace.BELOW)]
    if waiting:
        where = sorted({a.vessel_name or "gylewatch itself" for a in waiting})
        want = "wants" if len(waiting) == 1 else "want"
        thing = capital(counted(len(waiting), "thing", "things"))
        return Answer(f"{thing} {want} you: {listed(where)}.", wants_hand=True)
    if silent:
        return Answer(f"No reading from {listed(silent)}: nobody knows how it is there.", wants_hand=True)
    if outside:
        lies = "lies" if len(outside) == 1 else "lie"
        return Answer(f"{listed(outside)} {lies} outside the band.", wants_hand=True)
    return Answer(calm(vessels), wants_hand=False)


def calm(vessels: Sequence[VesselView]) -> str:
    """The sentence for a page on which nothing asks for the brewer."""
    if not vessels:
        return "No vessel yet."
    watched = [v for v in vessels if place(v) is BandPlace.IN]
    others = [v for v in vessels if place(v) is not BandPlace.IN]
    if not watched:
        return "Nothing is being compared with a plan."
    if others:
        lies = "lies in its band" if len(watched) == 1 else "lie in their bands"
        rest = counted(len(others), "other is", "others are")
        return f"{listed([v.name for v in watched])} {lies}; {rest} not compared with a plan."
    if len(watched) == 1:
        return f"{watched[0].name} lies in its band."
    if len(watched) == 2:
        return f"{listed([v.name for v in watched])} both lie in their bands."
    return f"All {counted(len(watched), 'vessel', 'vessels')} lie in their bands."


_ORDER = (
    AlarmState.UNACKNOWLEDGED,
    AlarmState.RETURNED,
    AlarmState.ACKNOWLEDGED,
    AlarmState.SHELVED,
    AlarmState.SUPPRESSED,
    AlarmState.OUT_OF_SERVICE,
    AlarmState.NORMAL,
)
_PRIORITIES = ("high", "medium", "low")


def in_order(alarms: Sequence[AlarmView]) -> list[AlarmView]:
    """What waits for the brewer first, high before low, newest first within each."""

    def rank(alarm: AlarmView) -> tuple[int, int, float]:
        known = alarm.priority in _PRIORITIES
        priority = _PRIORITIES.index(alarm.priority) if known else len(_PRIORITIES)
        return _ORDER.index(alarm.state), priority, -alarm.raised_at.timestamp()

    return sorted(alarms, key=rank)
