"""What is suppressed by design, and why. Pure.

Suppression prevents new alarms and never hides one that stands. There are three causes, each over by itself:

- Somebody works at the vessel and said so: what their hands do to temperatures and probes is no news.
  What can hurt (a kettle about to boil over, bottles about to burst or freeze) and what a stage asks for
  is said all the same.
- A probe is silent and its alarm stands: that it also fails, stands still or has come off is the same news.
- A stage without a time in which its band is to be reached has just begun: a kettle needs a while to get
  there. Stages that have one are held back by their band's rule, which says `not-reached` afterwards.
"""

from collections.abc import Collection, Mapping
from datetime import datetime, timedelta

from service.alarms.model import AlarmState, Finding, Subject
from service.plans.band import band_at
from service.plans.course import current, stage_of
from service.watch.house import House, LiveBatch
from service.watch.progress import Progress

SETTLES = timedelta(minutes=30)
"""A kettle of 25 litres on a kitchen hob takes about this long from mash to boil (our own starting point)."""

OF_THE_BAND = frozenset({"above-band", "below-band"})
OF_A_SILENT_PROBE = frozenset({"probe-fault", "probe-frozen", "probe-adrift"})
BY_HANDS = (
    OF_THE_BAND | OF_A_SILENT_PROBE | {"not-reached", "heading-out", "fast-change", "no-reading", "disturbed"}
)


def suppressions(
    house: House,
    findings: Collection[Finding],
    memories: Mapping[Subject, AlarmState],
    progress: Mapping[str, Progress],
    now: datetime,
) -> dict[Subject, str]:
    """Of the subjects that were looked at, those suppressed now, each with its cause in words."""
    settling = _settling(house, progress, now)
    found = {}
    for subject in (finding.subject for finding in findings):
        working = house.working.get(subject.vessel_id or "")
        silence = memories.get(Subject("no-reading", subject.vessel_id, subject.probe_id))
        if working is not None and working.holds(now) and subject.key in BY_HANDS:
            found[subject] = f"somebody works there: {working.reason}"
        elif silence is not None and silence.cause_stands and subject.key in OF_A_SILENT_PROBE:
            found[subject] = "the probe is silent, which is an alarm of its own"
        elif subject.vessel_id in settling and subject.key in OF_THE_BAND:
            found[subject] = "the stage has just begun"
    return found


def bands_wait_until(live: LiveBatch, stands: Progress | None, now: datetime) -> datetime | None:
    """Until when a stage's band alarms wait at most, for its band to be reached first; None: they do not."""
    step = current(live.course)
    if step is None:
        return None
    stage = stage_of(live.plan, step)
    band = band_at(stage, step.entered_at, now)
    watched = (band.low_c is not None and stage.cold_priority is not None) or (
        band.high_c is not None and stage.warm_priority is not None
    )
    if not watched or stage.alarm_after_s is None or _was_reached(stands, step.n):
        return None
    within = SETTLES if stage.reach_within_s is None else timedelta(seconds=stage.reach_within_s)
    until = step.entered_at + within
    return until if now < until else None


def _was_reached(stands: Progress | None, n: int) -> bool:
    return stands is not None and stands.step == n and stands.reached_at is not None


def _settling(house: House, progress: Mapping[str, Progress], now: datetime) -> set[str]:
    """The vessels whose stage has just begun, has not reached its band yet, and has no time for that."""
    vessels = set()
    for vessel_id in house.vessels:
        live = house.batch_in(vessel_id, now)
        step = None if live is None else current(live.course)
        if live is None or step is None:
            continue
        was_reached = _was_reached(progress.get(live.row.id), step.n)
        without = stage_of(live.plan, step).reach_within_s is None
        if without and not was_reached and step.entered_at <= now < step.entered_at + SETTLES:
            vessels.add(vessel_id)
    return vessels
