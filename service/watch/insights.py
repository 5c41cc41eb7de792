"""From estimates, forecast and minutes to what the judge is told. Pure.

A word becomes an alarm only when two fits some hours apart agree on it.
"""

from collections.abc import Collection, Sequence
from datetime import datetime, timedelta
from typing import Any

from service.alarms.rules import Heading
from service.plans.dues import ShareReached
from service.record.estimates import KeptEstimate
from service.thermal.results import Verdict
from service.watch.evidence import Insight

APART = timedelta(hours=3)
TOGETHER = timedelta(hours=12)
"""Two fits agree that are at least and at most so far apart."""

SHARE_SLACK = 0.03

STALE = timedelta(hours=6)
"""What an older estimate says is not known any more."""

MEASURED_AGAIN_AFTER = timedelta(days=1)

OVER = {Verdict.ENDED, Verdict.FINISHED, Verdict.POSSIBLY_STOPPED, Verdict.STOPPED_EARLY}
OPEN = {Verdict.UNKNOWN, Verdict.WAITING}
WANTS_A_SAMPLE = {Verdict.ENDED, Verdict.POSSIBLY_STOPPED}


def insight_from(
    kept: Sequence[KeptEstimate],
    now: datetime,
    heading: Heading | None = None,
    adrift: bool | None = None,
    last_reading_at: datetime | None = None,
    cooled: bool = False,
    wanted_share: float | None = None,
) -> Insight:
    """What the estimates (newest first) say at a time.

    last_reading_at: of the last direct reading. cooled: the brewer said that it is being cooled on purpose.
    wanted_share: the share by which the present stage ends, if it ends by one.
    """
    tau_h = _time_constant_h(kept)
    if not kept or now - kept[0].at > STALE:
        return Insight(heading=heading, adrift=adrift, tau_h=tau_h)
    newest = Verdict(kept[0].body["verdict"])
    measured = last_reading_at is not None and now - last_reading_at < MEASURED_AGAIN_AFTER
    sample = None if measured else agreed(kept, WANTS_A_SAMPLE)
    disturbed = agreed(kept, {Verdict.DISTURBED})
    share = (kept[0].body.get("share") or {}).get("value")
    ended: bool | None = None
    if newest not in OPEN and newest is not Verdict.DISTURBED:
        ended = bool(agreed(kept, OVER))
    return Insight(
        heading=heading,
        adrift=adrift,
        not_started=agreed(kept, {Verdict.NOT_STARTED}),
        stopped_early=agreed(kept, {Verdict.STOPPED_EARLY}),
        sample_due=False if measured else sample,
        disturbed=False if cooled else disturbed,
        share_fermented=share,
        share_reached=None if wanted_share is None else share_reached(kept, wanted_share),
        activity_ended=ended,
        tau_h=tau_h,
        evidence=_sentences(kept[0].body),
    )


def _time_constant_h(kept: Sequence[KeptEstimate]) -> float | None:
    """Of the newest estimate that has one: a vessel stays what it is, however old the fit."""
    facts = next((k.body["thermal"] for k in kept if k.body.get("thermal")), None)
    return None if facts is None else facts.get("tau_h")


def share_reached(kept: Sequence[KeptEstimate], wanted: float) -> ShareReached | None:
    """Since when a share has fermented, by the middle of the newest estimate; None while it has not.

    The middle, since its lower end would come days late or never. The fit some hours earlier must at least
    have held it possible, and once it was said, a hair less does not take it back.
    """
    newest = kept[0].body.get("share")
    earlier = confirming(kept)
    before = None if earlier is None else earlier.body.get("share")
    if newest is None or before is None or before["high"] < wanted:
        return None
    said = [k for k in kept if (k.body.get("share") or {"value": 0.0})["value"] >= wanted]
    if not said or newest["value"] < wanted - SHARE_SLACK:
        return None
    course = list((said[0].body.get("thermal") or {}).get("progress") or ())
    since = next((len(course) - 1 - k for k, share in enumerate(course) if share >= wanted), 0)
    return ShareReached(wanted, said[0].at - timedelta(hours=since))


def agreed(kept: Sequence[KeptEstimate], words: Collection[Verdict]) -> bool | None:
    """Whether the newest estimate says one of these words and one some hours earlier did too.

    None: it cannot tell, or nothing earlier confirms it yet.
    """
    newest = Verdict(kept[0].body["verdict"])
    if newest not in words:
        return None if newest in OPEN else False
    earlier = confirming(kept)
    if earlier is None:
        return None
    return True if Verdict(earlier.body["verdict"]) in words else None


def confirming(kept: Sequence[KeptEstimate]) -> KeptEstimate | None:
    """The estimate that the newest one is held against, if there is one."""
    return next((k for k in kept[1:] if APART <= kept[0].at - k.at <= TOGETHER), None)


def _sentences(body: Any) -> str:
    return " ".join(str(one) for one in body.get("evidence") or ()).rstrip(".")
