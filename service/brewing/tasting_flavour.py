"""Rules behind a fault of flavour: what in the record goes with hot, butter and green apple.

Every limit here is common practice, from memory. A rule that lacks what it needs says so instead of passing
the batch as innocent.
"""

from datetime import datetime, timedelta

from service.brewing.readiness_evidence import BeerTemp
from service.brewing.tasting import Cause, Likelihood, Stretch, TastingEvidence, runs, unknown

EARLY = timedelta(hours=72)
"""Warmth in the first two to three days shapes the flavour most."""
EARLY_HOURS_NEEDED = 48
WARM_SURELY_C = 1.0
"""By how much the weighted early hours must lie above the limit to count as a likely cause."""
REST_AT_C = 16.0
REST_HOURS = (24, 48)
"""Hours at REST_AT_C or warmer after nine tenths have fermented: under the first too few, under the second
doubtful."""
NEARLY_ALL = 0.9
FALL_C = 2.5
"""A fall of more than 2 to 3 C in a day can stall yeast."""
YOUNG_DAYS = (7.0, 10.0)
"""Days from pitching to packaging: under the first young, under the second perhaps."""
GREEN_WARM_DAYS = 10.0


def warm_early(e: TastingEvidence) -> Cause | None:
    """Beer above its limit in the first three days, weighted by how much fermented in each hour."""
    if e.pitched_at is None or e.most_c is None:
        return unknown("warm-early", "it is not known when the yeast was pitched or how warm it may work.")
    early = [h for h in e.beer if e.pitched_at <= h.at < e.pitched_at + EARLY]
    wanted = _hours(min(EARLY, (e.packaged_at or e.pitched_at + EARLY) - e.pitched_at))
    above = [h for h in early if h.temp_c > e.most_c]
    if not above:
        if len(early) < min(EARLY_HOURS_NEEDED, wanted):
            return unknown(
                "warm-early", f"of the first 72 hours only {len(early)} were measured, none of them too warm."
            )
        return None
    weights = [_share_in(e, h) for h in early]
    weighed = sum(weights) > 0
    if not weighed:
        weights = [1.0] * len(early)
    over_c = sum(w * max(0.0, h.temp_c - e.most_c) for w, h in zip(weights, early, strict=True)) / sum(
        weights
    )
    warmest = max(above, key=lambda h: h.temp_c)
    share = sum(w for w, h in zip(weights, early, strict=True) if h.temp_c > e.most_c)
    sentence = (
        f"In the first 72 hours the beer was above {e.most_c:.1f} C ({e.most_says}) for {len(above)} hours, "
        f"up to {warmest.temp_c:.1f} C"
        + (f"; about {share:.0%} of the fermentation fell into them." if weighed else ".")
    )
    surely = over_c >= WARM_SURELY_C
    return Cause("warm-early", Likelihood.COULD_WELL if surely else Likelihood.MIGHT, sentence, runs(above))


def cold_early(e: TastingEvidence) -> Cause | None:
    """Cooled before nearly all had fermented: the yeast falls asleep before it has cleaned up."""
    if e.cold_at is None or e.pitched_at is None:
        return None
    hour = _hours(e.cold_at - e.pitched_at)
    when = Stretch(e.cold_at, e.packaged_at or e.cold_at + timedelta(hours=1))
    if e.steady is False:
        return Cause(
            "cold-early",
            Likelihood.COULD_WELL,
            f"The cold began {hour / 24:.1f} days after pitching, and no readings show that it had ended.",
            (when,),
        )
    share = _progress_at(e, hour)
    if share is None:
        return (
            None if e.steady else unknown("cold-early", "nothing tells how far it was when the cold began.")
        )
    if share >= NEARLY_ALL:
        return None
    surely = share < 0.8
    return Cause(
        "cold-early",
        Likelihood.COULD_WELL if surely else Likelihood.MIGHT,
        f"The cold began when about {share:.0%} had fermented, by the estimate.",
        (when,),
    )


def no_warm_rest(e: TastingEvidence) -> Cause | None:
    """Too few warm hours between the end of the main fermentation and the cold or the packaging."""
    ends = e.cold_at or e.packaged_at
    if e.pitched_at is None or ends is None or not e.beer:
        return unknown("no-warm-rest", "it has no temperatures of the days before the cold.")
    since = _nearly_all_at(e)
    if since is None:
        # without an estimate the last three days stand for the time after the main fermentation
        since = max(e.pitched_at, ends - timedelta(days=3))
    after = [h for h in e.beer if since <= h.at < ends]
    measured, span = len(after), _hours(ends - since)
    warm = [h for h in after if h.temp_c >= REST_AT_C]
    few, doubtful = REST_HOURS
    if len(warm) >= doubtful:
        return None
    if measured + few <= span and len(warm) + span - measured >= doubtful:
        return unknown("no-warm-rest", f"of the {span:.0f} hours before the cold {measured} were measured.")
    return Cause(
        "no-warm-rest",
        Likelihood.COULD_WELL if len(warm) < few else Likelihood.MIGHT,
        f"After nine tenths had fermented it stood at {REST_AT_C:g} C or warmer for only {len(warm)} hours "
        f"before the cold or the packaging; two days are usual.",
        (Stretch(since, ends),),
    )


def fell_asleep(e: TastingEvidence) -> Cause | None:
    """A fall of more than FALL_C within a day while it still fermented, before the cold was meant."""
    ends = _nearly_all_at(e) or e.cold_at or e.packaged_at
    hours = [h for h in e.beer if ends is None or h.at < ends]
    by_time = {h.at: h.temp_c for h in hours}
    found = [h for h in hours if by_time.get(h.at - timedelta(days=1), h.temp_c) - h.temp_c > FALL_C]
    if not found:
        return None
    worst = max(by_time[h.at - timedelta(days=1)] - h.temp_c for h in found)
    begins = found[0].at - timedelta(days=1)
    return Cause(
        "fell-asleep",
        Likelihood.MIGHT,
        f"While it fermented the beer fell by {worst:.1f} C within a day, which can stall yeast.",
        (Stretch(begins, found[-1].at + timedelta(hours=1)),),
    )


def smelled_before(e: TastingEvidence) -> Cause | None:
    """It smelled of butter before it was packaged."""
    at = e.butter_smelled_at
    if at is None:
        return None
    return Cause(
        "smelled-before",
        Likelihood.COULD_WELL,
        f"A smell of butter was noted on {at:%Y-%m-%d}, before it was packaged, and no clean one after it.",
        (Stretch(at, e.packaged_at or at),),
    )


def packaged_young(e: TastingEvidence) -> Cause | None:
    """Packaged a few days after pitching."""
    if e.pitched_at is None or e.packaged_at is None:
        return unknown("packaged-young", "it is not known when it was pitched or packaged.")
    days = (e.packaged_at - e.pitched_at) / timedelta(days=1)
    surely, perhaps = YOUNG_DAYS
    if days >= perhaps:
        return None
    return Cause(
        "packaged-young",
        Likelihood.COULD_WELL if days < surely else Likelihood.MIGHT,
        f"It was packaged {days:.1f} days after pitching.",
        (Stretch(e.pitched_at, e.packaged_at),),
    )


def drunk_young(e: TastingEvidence) -> Cause | None:
    """Opened after few warm days in the bottle."""
    if e.warm_days is None or e.kegged or e.warm_days >= GREEN_WARM_DAYS:
        return None
    return Cause(
        "drunk-young",
        Likelihood.MIGHT,
        f"It was opened after the worth of {e.warm_days:.1f} days at 20 C; wait two weeks and taste again.",
    )


def _hours(span: timedelta) -> float:
    return span / timedelta(hours=1)


def _progress_at(e: TastingEvidence, hour: float) -> float | None:
    if not e.progress or hour < 0:
        return None
    return e.progress[min(int(hour), len(e.progress) - 1)]


def _share_in(e: TastingEvidence, hour: BeerTemp) -> float:
    if e.pitched_at is None:
        return 0.0
    n = _hours(hour.at - e.pitched_at)
    before, after = _progress_at(e, n), _progress_at(e, n + 1)
    return 0.0 if before is None or after is None else max(0.0, after - before)


def _nearly_all_at(e: TastingEvidence) -> datetime | None:
    """When nine tenths had fermented, by the estimate; None where it does not tell."""
    if e.pitched_at is None:
        return None
    hour = next((n for n, share in enumerate(e.progress) if share >= NEARLY_ALL), None)
    return None if hour is None else e.pitched_at + timedelta(hours=hour)
