"""What the pages are given: plain frozen values, filled from the record and shown as they are.

Temperatures are calibrated degrees Celsius, times aware UTC, shares between 0 and 1; None is "not known".
How a person wants them written (Fahrenheit, time zone, 12-hour clock) is applied when they are shown.
"""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class Freshness(StrEnum):
    """How far a vessel's newest sample can still stand for now; decided by the watch, never by a page."""

    FRESH = "fresh"
    LATE = "late"
    SILENT = "silent"
    NEVER = "never"


class AlarmState(StrEnum):
    """The state of an alarm as a page shows it: the states and flags of ISA-18.2, one of them at a time."""

    UNACKNOWLEDGED = "unacknowledged"
    RETURNED = "returned-unacknowledged"
    ACKNOWLEDGED = "acknowledged"
    SHELVED = "shelved"
    SUPPRESSED = "suppressed"
    OUT_OF_SERVICE = "out-of-service"
    NORMAL = "normal"


@dataclass(frozen=True, slots=True)
class AlarmView:
    """One alarm with what a person needs to act on it.

    title: its kind in plain words ("Above the band"). reason: what was measured. priority: high, medium, low.
    """

    id: str
    key: str
    title: str
    state: AlarmState
    priority: str
    raised_at: datetime
    reason: str
    consequence: str = ""
    advice: str = ""
    vessel_id: str | None = None
    vessel_name: str | None = None
    batch_id: str | None = None
    respond_by: datetime | None = None
    acknowledged_at: datetime | None = None
    acknowledged_by: str | None = None
    returned_at: datetime | None = None
    shelved_until: datetime | None = None
    suppressed_by: str | None = None
    unknown_since: datetime | None = None


@dataclass(frozen=True, slots=True)
class BandView:
    """The plan's band and target now; each may be open."""

    target_c: float | None = None
    low_c: float | None = None
    high_c: float | None = None


@dataclass(frozen=True, slots=True)
class StageView:
    """The stage a batch is in. ends_at: planned or due time. note: what ends it, in words.

    kettle: it is passed on the stove, before any yeast is in it.
    """

    key: str
    kind: str
    entered_at: datetime
    ends_at: datetime | None = None
    note: str = ""
    kettle: bool = False


@dataclass(frozen=True, slots=True)
class TrackPoint:
    """One measured point and the band at that time; temp_c None (nothing was measured) cuts the line."""

    at: datetime
    temp_c: float | None
    low_c: float | None = None
    high_c: float | None = None


@dataclass(frozen=True, slots=True)
class AheadPoint:
    """One point of a forecast with its 90 % interval, and the band planned for that time."""

    at: datetime
    temp_c: float
    low90_c: float
    high90_c: float
    low_c: float | None = None
    high_c: float | None = None


@dataclass(frozen=True, slots=True)
class HourRow:
    """One hour of the day's table: mean, lowest and highest, or None for an hour without a measurement."""

    starts_at: datetime
    mean_c: float | None
    min_c: float | None
    max_c: float | None


@dataclass(frozen=True, slots=True)
class ProgressView:
    """How far the fermentation is: estimated shares with a 90 % interval, and the verdict as a sentence."""

    verdict: str
    share: float | None = None
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class TimedWords:
    """Something that is due, or holds until a time, said in words."""

    at: datetime
    words: str


@dataclass(frozen=True, slots=True)
class VesselView:
    """One vessel as its strip shows it.

    temp_c, at: the last believed sample, kept when silent so that the strip can say what it was.
    trail: oldest first, the last hours; ahead: soonest first. day: the last 24 hours, oldest first.
    next_step: what to do next and when. leave_until: the earliest time at which absence could cost the beer;
    leave_words: the reason where there is no such time.
    """

    id: str
    name: str
    kind: str
    freshness: Freshness
    temp_c: float | None = None
    at: datetime | None = None
    band: BandView | None = None
    stage: StageView | None = None
    batch_id: str | None = None
    batch_name: str | None = None
    surroundings_c: float | None = None
    surroundings_note: str | None = None
    trend_c_per_h: float | None = None
    leaves_band_at: datetime | None = None
    trail: tuple[TrackPoint, ...] = ()
    ahead: tuple[AheadPoint, ...] = ()
    day: tuple[HourRow, ...] = ()
    progress: ProgressView | None = None
    next_step: TimedWords | None = None
    leave_until: TimedWords | None = None
    bands_wait_until: datetime | None = None
    leave_words: str = ""
    standing: tuple[AlarmView, ...] = ()
