"""The judge. Pure: from what is known of the house and the evidence of one moment to findings.

Nothing is decided here about alarms: a finding says what was found, and the alarms' own state machine
says what follows.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from service.alarms import rules
from service.alarms.model import AlarmState, Finding, Priority, Subject
from service.alarms.rules import About, Limits, Side
from service.plans.band import Band, band_at
from service.plans.course import Course, Step, current, dues, elapse, reached, stage_of
from service.plans.dues import DueKind, ShareReached
from service.plans.kinds import KINDS, StageKind, StagePriority
from service.plans.model import Ends, Ramp, Stage
from service.record.facts import Vessel
from service.watch.asked import is_due, last_word, name_of_due, was_by_hand
from service.watch.cold import name_of_cold, really_cold
from service.watch.evidence import Evidence, Insight, ProbeEvidence
from service.watch.house import House, LiveBatch
from service.watch.looks import of_itself, of_probes
from service.watch.progress import Progress, progress_name
from service.watch.suppressing import suppressions

SETTLES = timedelta(hours=2)
"""After a stage begins or a probe is hung, its temperature may change as fast as it likes."""

AIR_APART_C = 20.0
"""A room hardly differs from the beer by more, so 20 C over the time constant bounds an honest rate."""

Abouts = Callable[..., About]
"""Makes what a rule is told, for an alarm key and what else it is about."""

OF_THE_WATCH = frozenset(
    {"was-down", "record-damaged", "clock-untrusted", "disk-low", "channel-failing", "backup-old"}
)


@dataclass(frozen=True, slots=True)
class Judgement:
    """What one look found.

    courses: those that went on by themselves. progress: how each batch stands to its band. done: what a
    stage had asked for and asks no more since a person took the batch on: that person has seen it.
    suppressed: what raises nothing new now, by design, with the cause.
    """

    findings: tuple[Finding, ...]
    courses: Mapping[str, Course]
    progress: Mapping[str, Progress]
    done: frozenset[Subject] = frozenset()
    suppressed: Mapping[Subject, str] = field(default_factory=dict)


def judge(
    house: House,
    evidence: Evidence,
    memories: Mapping[Subject, AlarmState],
    progress: Mapping[str, Progress],
) -> Judgement:
    """Look at everything once. memories and progress are what was remembered so far."""
    findings: dict[Subject, Finding] = {}
    courses: dict[str, Course] = {}
    stands: dict[str, Progress] = {}
    for live in house.batches:
        course = elapse(live.plan, live.course, evidence.for_stages)
        everywhere = _vessels_of(house, live, evidence.now)
        step = current(course)
        if step is not None and everywhere:
            for here, name in everywhere:
                stands[name] = _look_at_band(house, live, step, here, name, evidence, progress)
            lasted = all(stands[name].lasted(evidence.now) for _, name in everywhere)
            if stage_of(live.plan, step).ends is Ends.REACHED and lasted:
                course = reached(live.plan, course, max(evidence.for_stages, step.entered_at))
        if course != live.course:
            courses[live.row.id] = course
        for here, name in everywhere:
            then = replace(live, course=course)
            for finding in _of_batch(house, then, here, name, evidence, memories, stands):
                findings[finding.subject] = finding
    for finding in (*of_probes(house, evidence, memories), *of_itself(evidence, memories)):
        findings[finding.subject] = finding
    done = set()
    for subject, state in memories.items():
        if subject in findings or subject.key in OF_THE_WATCH or evidence.itself.clock_doubt:
            # by a clock set back to before a batch began nothing is watched, and nothing is over either
            continue
        if state.cause_stands or state.pending_since is not None:
            findings[subject] = rules.gone(subject, "nothing is watched here any more, or it was done")
        if is_due(subject) and state.cause_stands and was_by_hand(house, state, courses):
            done.add(subject)
    suppressed = suppressions(house, findings.values(), memories, stands, evidence.now)
    return Judgement(tuple(findings.values()), courses, stands, frozenset(done), suppressed)


def band_now(live: LiveBatch, now: datetime) -> tuple[Stage, Step, Band] | None:
    """The stage a batch is in at a time, since when, and its band; None once it has ended."""
    course = elapse(live.plan, live.course, now)
    step = current(course)
    if step is None:
        return None
    stage = stage_of(live.plan, step)
    return stage, step, band_at(stage, step.entered_at, now)


def _vessels_of(house: House, live: LiveBatch, now: datetime) -> list[tuple[Vessel, str]]:
    """Where a batch is, the vessel it is longest in first, each with the name of its progress."""
    here = [p.vessel_id for p in live.row.places if p.from_at <= now and p.to_at is None]
    return [
        (house.vessels[vessel_id], progress_name(live.row.id, vessel_id, first=n == 0))
        for n, vessel_id in enumerate(here)
        if vessel_id in house.vessels
    ]


def _liquid(house: House, vessel: Vessel, evidence: Evidence) -> ProbeEvidence | None:
    probe = house.probe_of(vessel.id, "liquid", evidence.now)
    return None if probe is None else evidence.probes.get(probe.id)


def _look_at_band(
    house: House,
    live: LiveBatch,
    step: Step,
    vessel: Vessel,
    name: str,
    evidence: Evidence,
    progress: Mapping[str, Progress],
) -> Progress:
    before = progress.get(name)
    if before is None or before.step != step.n:
        before = Progress(step.n)
    liquid = _liquid(house, vessel, evidence)
    temp_c = None if liquid is None else liquid.temp_c
    band = band_at(stage_of(live.plan, step), step.entered_at, evidence.now)
    return before.after(None if temp_c is None else band.holds(temp_c), evidence.now)


def _of_batch(
    house: House,
    live: LiveBatch,
    vessel: Vessel,
    name: str,
    evidence: Evidence,
    memories: Mapping[Subject, AlarmState],
    stands: Mapping[str, Progress],
) -> Iterator[Finding]:
    running = current(live.course)
    if not live.course.steps or house.batch_in(vessel.id, evidence.now) is None:
        return
    step = running or live.course.steps[-1]
    stage = stage_of(live.plan, step)
    probe = house.probe_of(vessel.id, "liquid", evidence.now)
    liquid = None if probe is None else evidence.probes.get(probe.id)
    temp_c = None if liquid is None else liquid.temp_c
    insight = evidence.insights.get(live.row.id, Insight())
    first = name == live.row.id
    if not first:
        # what is forecast and fitted is of the vessel it is longest in; how far it is holds for all of it
        insight = Insight(
            share_fermented=insight.share_fermented,
            activity_ended=insight.activity_ended,
            share_reached=insight.share_reached,
        )

    def about(key: str, other: str | None = None) -> About:
        subject = Subject(key, vessel.id, None, other)
        state = memories.get(subject)
        return About(
            now=evidence.now,
            tz=evidence.tz,
            units=evidence.units,
            vessel_id=vessel.id,
            vessel_name=vessel.name,
            probe_id=None if probe is None else probe.id,
            probe_name="" if probe is None else probe.label,
            batch_id=live.row.id,
            stage=stage.key,
            stage_kind=stage.kind.value,
            other=other,
            since=None if state is None else state.since,
        )

    main = house.batch_in(vessel.id, evidence.now)
    if main is not None and main.row.id == live.row.id and liquid is not None and running is not None:
        yield from _of_band(about, stage, step, live, temp_c, insight, stands.get(name), evidence.now)
        yield from _of_liquid(about, house, vessel, stage, step, liquid, insight, evidence)
        cold = name_of_cold(name, step.n)
        said = really_cold(
            about("stage-due", cold),
            stage,
            band_at(stage, step.entered_at, evidence.now),
            temp_c,
            liquid.trend_c_per_h,
            insight.tau_h or time_constant_h(vessel.volume_l),
            memories.get(Subject("stage-due", vessel.id, None, cold)),
            evidence.now,
        )
        if said is not None:
            yield said
    if first:
        yield from _of_dues(about, live, evidence, insight.share_reached)


def _of_band(
    about: Abouts,
    stage: Stage,
    step: Step,
    live: LiveBatch,
    temp_c: float | None,
    insight: Insight,
    stands: Progress | None,
    now: datetime,
) -> Iterator[Finding]:
    band = band_at(stage, step.entered_at, now)
    limits = Limits(
        low_c=band.low_c,
        high_c=band.high_c,
        target_c=band.target_c,
        deadband_c=stage.deadband_c,
        after_s=stage.alarm_after_s,
        clear_after_s=stage.clear_after_s,
    )
    was_reached = stands is not None and stands.reached_at is not None
    held = rules.held_back_until_reached(was_reached, step.entered_at, stage.reach_within_s, now)
    pitched = live.course.pitched_at
    hours = None if pitched is None else (now - pitched).total_seconds() / 3600
    for side, given, key in (
        (Side.WARM, stage.warm_priority, "above-band"),
        (Side.COLD, stage.cold_priority, "below-band"),
    ):
        priority = _priority(stage, side, given, insight.share_fermented, hours)
        yield rules.band_finding(about(key), side, temp_c, limits, priority, held)
    yield rules.not_reached(
        about("not-reached"),
        temp_c,
        limits,
        reached=was_reached,
        entered_at=step.entered_at,
        reach_within_s=stage.reach_within_s,
    )
    yield rules.heading_out(about("heading-out"), insight.heading)


def _priority(
    stage: Stage, side: Side, given: StagePriority | None, share: float | None, hours: float | None
) -> Priority | None:
    if given is None or stage.alarm_after_s is None:
        return None
    if given is StagePriority.BY_PHASE:
        return rules.phase_priority(StageKind.PRIMARY.value, side, share, hours)
    return Priority(given.value)


def _of_liquid(
    about: Abouts,
    house: House,
    vessel: Vessel,
    stage: Stage,
    step: Step,
    liquid: ProbeEvidence,
    insight: Insight,
    evidence: Evidence,
) -> Iterator[Finding]:
    kettle = KINDS[stage.kind].kettle
    if vessel.kind == "kettle" and kettle and stage.kind not in (StageKind.CHILL, StageKind.STEEP):
        yield rules.near_boil(about("near-boil"), liquid.temp_c, liquid.slope_c_per_min, liquid.plateau_c)
    if not kettle:
        yield rules.near_freezing(about("near-freezing"), liquid.temp_c, liquid.trend_c_per_h)
        yield rules.fast_change(
            about("fast-change"),
            liquid.trend_c_per_h if liquid.temp_c is not None else None,
            AIR_APART_C / time_constant_h(vessel.volume_l),
            _fall(liquid),
            before_end=None if insight.activity_ended is None else not insight.activity_ended,
            by_plan=_by_plan(house, vessel, stage, step, evidence.now),
        )
    if stage.kind is StageKind.CONDITION:
        yield rules.bottles_warm(about("bottles-warm"), liquid.temp_c)
    if stage.kind is StageKind.PRIMARY:
        for rule, verdict in (
            (rules.not_started, insight.not_started),
            (rules.stopped_early, insight.stopped_early),
            (rules.sample_due, insight.sample_due),
            (rules.disturbed, insight.disturbed),
        ):
            yield rule(about(rule.__name__.replace("_", "-")), verdict, insight.evidence)


def time_constant_h(volume_l: float | None) -> float:
    """How slowly a vessel of this size follows its room, in hours: 6.5 h at 5 litres, by its surface.

    About what a bare plastic bucket of 5 litres has (0.164 m2, 1.1 W/K: an estimate); before a vessel
    has been learned nothing better is known.
    """
    return float(6.5 * ((volume_l or 5.0) / 5.0) ** (1 / 3))


def _fall(liquid: ProbeEvidence) -> float | None:
    if liquid.day_ago_c is None or liquid.temp_c is None:
        return None
    return liquid.day_ago_c - liquid.temp_c


def _by_plan(house: House, vessel: Vessel, stage: Stage, step: Step, now: datetime) -> bool:
    hung = next(
        (a.from_at for a in reversed(house.assignments) if a.vessel_id == vessel.id and a.role == "liquid"),
        None,
    )
    since = max(step.entered_at, hung or step.entered_at)
    ramps = isinstance(stage.target_c, Ramp) and now < step.entered_at + timedelta(
        seconds=stage.target_c.over_s
    )
    return stage.kind in (StageKind.CRASH, StageKind.CHILL) or ramps or now - since < SETTLES


def _of_dues(
    about: Abouts, live: LiveBatch, evidence: Evidence, reached: ShareReached | None
) -> Iterator[Finding]:
    asked = dues(live.plan, live.course, evidence.for_stages, reached=reached)
    if evidence.looked_at is not None:
        # a prompt at the very end of a stage that elapsed since the last look is said all the same
        asked += [
            due
            for due in dues(live.plan, live.course, evidence.for_stages, evidence.looked_at)
            if due not in asked
        ]
    for due in asked:
        which = name_of_due(live.row.id, due.n, due.prompt)
        if due.kind is DueKind.STAGE_OVERDUE:
            found = rules.stage_overdue(about("stage-overdue", which), due.at, due.say)
        else:
            found = rules.stage_due(about("stage-due", which), due.at, due.say)
        yield found if current(live.course) is not None else last_word(found)
