"""A day of temperatures as a sentence and a table: the chart's equals for those who do not see it. Pure."""

from collections.abc import Callable, Sequence
from datetime import datetime, timedelta

from web.answer import BandPlace, place
from web.views import HourRow, VesselView
from web.words import Taste, capital, duration


def position_words(vessel: VesselView, taste: Taste) -> str:
    """Where the temperature lies, in a few words: ``in the band, 0.2 C under the target``."""
    where = place(vessel)
    band = vessel.band
    if where is BandPlace.UNKNOWN or vessel.temp_c is None:
        return "not known"
    if where is BandPlace.NO_BAND or band is None:
        return "no band to compare with"
    if where is BandPlace.ABOVE and band.high_c is not None:
        return f"{taste.difference(vessel.temp_c - band.high_c)} above the band"
    if where is BandPlace.BELOW and band.low_c is not None:
        return f"{taste.difference(band.low_c - vessel.temp_c)} below the band"
    if band.target_c is None:
        return "in the band"
    off = vessel.temp_c - band.target_c
    if float(f"{abs(taste.span(off)):.1f}") == 0:
        return "in the band, at the target"
    return f"in the band, {taste.difference(off)} {'over' if off > 0 else 'under'} the target"


def trend_words(vessel: VesselView, taste: Taste, now: datetime) -> str:
    """Which way it is moving, and when it would leave the band."""
    trend = vessel.trend_c_per_h
    if trend is None:
        return ""
    if abs(trend) < 0.02:
        words = "steady"
    else:
        words = f"{'rising' if trend > 0 else 'falling'} {taste.difference(trend, 2)} an hour"
    if vessel.leaves_band_at is not None:
        words += f", out of the band about {taste.moment(vessel.leaves_band_at, now)}"
    return words


def day_sentence(rows: Sequence[HourRow], taste: Taste) -> str:
    """What the last day's chart shows: lowest, highest, and how much of it was not measured."""
    return _sentence(rows, timedelta(hours=1), taste, "over the last day", taste.hour)


def whole_sentence(rows: Sequence[HourRow], part: timedelta, taste: Taste, now: datetime) -> str:
    """What a batch's chart shows; rows are parts of equal length."""
    return _sentence(rows, part, taste, "over its whole time", lambda at: taste.moment(at, now))


def _sentence(
    rows: Sequence[HourRow], part: timedelta, taste: Taste, span: str, when: Callable[[datetime], str]
) -> str:
    known = [row for row in rows if row.mean_c is not None]
    if not known:
        return f"Nothing was measured {span}."
    low = min(row.min_c for row in known if row.min_c is not None)
    high = max(row.max_c for row in known if row.max_c is not None)
    coldest = next(row for row in known if row.min_c == low)
    warmest = next(row for row in known if row.max_c == high)
    if taste.figure(low) == taste.figure(high):
        words = f"{capital(span)} it stayed at {taste.temperature(low)}."
    else:
        lowest = f"{taste.temperature(low)} (about {when(coldest.starts_at)})"
        highest = f"{taste.temperature(high)} (about {when(warmest.starts_at)})"
        words = f"{capital(span)} it lay between {lowest} and {highest}."
    missing = len(rows) - len(known)
    if missing:
        words += f" Nothing was measured for {duration(missing * part)} of it."
    return words


def stage_left(vessel: VesselView, now: datetime) -> str:
    """How long the stage still lasts, or how long it is overdue."""
    stage = vessel.stage
    if stage is None or stage.ends_at is None:
        return ""
    if stage.ends_at >= now:
        return f"{duration(stage.ends_at - now)} left"
    return f"{duration(now - stage.ends_at)} over its time"
