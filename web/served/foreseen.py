"""What estimate and outlook say, in the words of the pages. Pure: what is kept goes in, views come out."""

from collections.abc import Sequence
from datetime import datetime

from service.record.estimates import KeptEstimate
from service.thermal.results import Verdict
from service.watch.insights import STALE
from web.served.outlook import Outlook
from web.views import AheadPoint, ProgressView, StageView, TimedWords

VERDICTS = {
    Verdict.WAITING: "Too early to tell.",
    Verdict.WORKING: "Working.",
    Verdict.SLOWING: "Working, past its peak.",
    Verdict.ENDED: "Its activity has ended.",
    Verdict.FINISHED: "Finished, by readings.",
    Verdict.POSSIBLY_STOPPED: "It may have stopped: take a reading.",
    Verdict.STOPPED_EARLY: "It has stopped early.",
    Verdict.NOT_STARTED: "No fermentation is seen yet.",
    Verdict.DISTURBED: "Something warms or cools it that nobody mentioned.",
    Verdict.UNKNOWN: "What it does cannot be told.",
}


def progress_of(kept: Sequence[KeptEstimate], now: datetime, ended: bool = False) -> ProgressView | None:
    """How far the fermentation is by the newest estimate; an old one counts only once the batch has ended."""
    if not kept or (now - kept[0].at > STALE and not ended):
        return None
    body = kept[0].body
    share = body.get("share") or {}
    return ProgressView(
        VERDICTS[Verdict(body["verdict"])], share.get("value"), share.get("low"), share.get("high")
    )


def evidence_of(kept: Sequence[KeptEstimate], now: datetime, ended: bool = False) -> tuple[str, ...]:
    """Why the verdict stands, as sentences."""
    if progress_of(kept, now, ended) is None:
        return ()
    return tuple(kept[0].body.get("evidence") or ())


def ahead_of(seen: Outlook | None) -> tuple[AheadPoint, ...]:
    """The forecast as pages draw it."""
    if seen is None:
        return ()
    return tuple(
        AheadPoint(p.at, p.temp_c, p.low90_c, p.high90_c, p.low_c, p.high_c) for p in seen.forecast.points
    )


def leaving_of(seen: Outlook | None) -> tuple[TimedWords | None, str]:
    """Until when it may be left, with the reason; without a time only the reason."""
    if seen is None:
        return None, ""
    if seen.leaving.until is None:
        return None, seen.leaving.because
    return TimedWords(seen.leaving.until, seen.leaving.because), ""


def next_of(
    due: TimedWords | None, seen: Outlook | None, stage: StageView | None, now: datetime
) -> TimedWords | None:
    """What is next: what is asked already, else what will be, else the end of the stage."""
    if due is not None:
        return due
    coming = [] if seen is None else [TimedWords(c.at, c.because.rstrip(".")) for c in seen.leaving.next]
    if stage is not None and stage.ends_at is not None:
        coming.append(TimedWords(stage.ends_at, f"The end of {stage.key}"))
    return min((one for one in coming if one.at > now), key=lambda one: one.at, default=None)
