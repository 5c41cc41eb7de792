"""The judge. Pure: from what is known of the house and the evidence of one moment to findings.

Nothing is decided here about alarms: a finding says what was found, and the alarms' own state machine
says what follows.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from service.alarms import rules
from service.alarms.model import AlarmState, Finding, Priority, Subject
from service.alarms.rules import About, Limits, Side
from service.plans.band import Band, band_at
from service.plans.course import Course, Step, current, dues, elapse, reached, stage_of
from service.plans.dues import DueKind
from service.plans.kinds import KINDS, StageKind, StagePriority
from service.plans.model import Ends, Ramp, Stage
from service.record.facts import Vessel
from service.watch.evidence import Evidence, Insight, ProbeEvidence
from service.watch.house import House, LiveBatch
from service.watch.progress import Progress

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
    """What one look found: findings, courses that went on by themselves, and how each batch stands."""

    findings: tuple[Finding, ...]
    courses: Mapping[str, Course]
    progress: Mapping[str, Progress]


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
        course = elapse(live.plan, live.course, evidence.now)
        here = _vessel_of(house, live, evidence.now)
        step = current(course)
        if step is not None and here is not None:
            at_band = _look_at_band(house, live, step, here, evidence, progress)
            stands[live.row.id] = at_band
            if stage_of(live.plan, step).ends is Ends.REACHED and at_band.lasted(evidence.now):
                course = reached(live.plan, course, evidence.now)
        if course != live.course:
            courses[live.row.id] = course
        for finding in _of_batch(house, replace(live, course=course), here, evidence, memories, stands):
            findings[finding.subject] = finding
    for finding in (*_of_probes(house, evidence, memories), *_of_itself(evidence, memories)):
        findings[finding.subject] = finding
    for subject, state in memories.items():
        busy = state.cause_stands or state.pending_since is not None
        if busy and subject not in findings and subject.key not in OF_THE_WATCH:
            findings[subject] = rules.gone(subject, "nothing is watched here any more, or it was done")
    return Judgement(tuple(findings.values()), courses, stands)


def band_now(live: LiveBatch, now: datetime) -> tuple[Stage, Step, Band] | None:
    """The stage a batch is in at a time, since when, and its band; None once it has ended."""
    course = elapse(live.plan, live.course, now)
    step = current(course)
    if step is None:
        return None
    stage = stage_of(live.plan, step)
    return stage, step, band_at(stage, step.entered_at, now)


def _vessel_of(house: House, live: LiveBatch, now: datetime) -> Vessel | None:
    here = next(
        (p.vessel_id for p in reversed(live.row.places) if p.from_at <= now and p.to_at is None), None
    )
    return None if here is None else house.vessels.get(here)


def _liquid(house: House, vessel: Vessel, evidence: Evidence) -> ProbeEvidence | None:
    probe = house.probe_of(vessel.id, "liquid", evidence.now)
    return None if probe is None else evidence.probes.get(probe.id)


def _look_at_band(
    house: House,
    live: LiveBatch,
    step: Step,
    vessel: Vessel,
    evidence: Evidence,
    progress: Mapping[str, Progress],
) -> Progress:
    before = progress.get(live.row.id)
    if before is None or before.step != step.n:
        before = Progress(step.n)
    liquid = _liquid(house, vessel, evidence)
    temp_c = None if liquid is None else liquid.temp_c
    band = band_at(stage_of(live.plan, step), step.entered_at, evidence.now)
    return before.after(None if temp_c is None else band.holds(temp_c), evidence.now)


def _of_batch(
    house: House,
    live: LiveBatch,
    vessel: Vessel | None,
    evidence: Evidence,
    memories: Mapping[Subject, AlarmState],
    stands: Mapping[str, Progress],
) -> Iterator[Finding]:
    step = current(live.course)
    if vessel is None or step is None or house.batch_in(vessel.id, evidence.now) is None:
        return
    stage = stage_of(live.plan, step)
    probe = house.probe_of(vessel.id, "liquid", evidence.now)
    liquid = None if probe is None else evidence.probes.get(probe.id)
    temp_c = None if liquid is None else liquid.temp_c
    insight = evidence.insights.get(live.row.id, Insight())

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
            other=other,
            since=None if state is None else state.since,
        )

    main = house.batch_in(vessel.id, evidence.now)
    if main is not None and main.row.id == live.row.id and liquid is not None:
        yield from _of_band(about, stage, step, live, temp_c, insight, stands.get(live.row.id), evidence.now)
        yield from _of_liquid(about, house, vessel, stage, step, liquid, insight, evidence)
    yield from _of_dues(about, live, evidence.now)


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


def _of_dues(about: Abouts, live: LiveBatch, now: datetime) -> Iterator[Finding]:
    for due in dues(live.plan, live.course, now):
        which = f"{live.row.id}#{due.n}" + ("" if due.prompt is None else f".{due.prompt}")
        if due.kind is DueKind.STAGE_OVERDUE:
            yield rules.stage_overdue(about("stage-overdue", which), due.at, due.say)
        else:
            yield rules.stage_due(about("stage-due", which), due.at, due.say)


def _of_probes(house: House, evidence: Evidence, memories: Mapping[Subject, AlarmState]) -> Iterator[Finding]:
    """Silence and faults of every probe that serves a batch; others may rest in a drawer."""
    for assignment in house.assignments:
        if assignment.to_at is not None or assignment.from_at > evidence.now:
            continue
        probe = house.probes.get(assignment.probe_id)
        vessel = house.vessels.get(assignment.vessel_id)
        if probe is None or vessel is None or probe.id not in evidence.probes:
            continue
        batch = house.batch_in(vessel.id, evidence.now)
        if batch is None:
            continue
        seen = evidence.probes[probe.id]

        def about(
            key: str, seen_at: str = probe.id, here: Vessel = vessel, batch: LiveBatch = batch
        ) -> About:
            state = memories.get(Subject(key, here.id, seen_at))
            step = current(batch.course)
            return About(
                now=evidence.now,
                tz=evidence.tz,
                units=evidence.units,
                vessel_id=here.id,
                vessel_name=here.name,
                probe_id=seen_at,
                probe_name=house.probes[seen_at].label,
                batch_id=batch.row.id,
                stage=None if step is None else step.stage_key,
                since=None if state is None else state.since,
            )

        silence = rules.no_reading(
            about("no-reading"), seen.silent_s, seen.interval_s, seen.last_at, seen.last_c
        )
        # a probe beside the vessel is a help, not the beer: nobody is woken for it
        yield silence if assignment.role == "liquid" else replace(silence, priority=Priority.LOW)
        counts = {kind.value: count for kind, count in seen.faults_1h.items()}
        yield rules.probe_fault(about("probe-fault"), seen.looks_1h, counts)
        yield rules.probe_frozen(about("probe-frozen"), seen.same_for_s, seen.temp_c)
        if assignment.role == "liquid":
            insight = evidence.insights.get(batch.row.id, Insight())
            yield rules.probe_adrift(about("probe-adrift"), insight.adrift, seen.temp_c, None)


def _of_itself(evidence: Evidence, memories: Mapping[Subject, AlarmState]) -> Iterator[Finding]:
    itself = evidence.itself

    def about(key: str, other: str | None = None, name: str = "") -> About:
        state = memories.get(Subject(key, other=other))
        return About(
            now=evidence.now,
            tz=evidence.tz,
            units=evidence.units,
            other=other,
            probe_name=name,
            since=None if state is None else state.since,
        )

    def seen(key: str) -> bool:
        state = memories.get(Subject(key))
        return state is not None and state.acknowledged_at is not None and state.standing

    yield rules.was_down(
        about("was-down"), itself.down_s, evidence.sweep_s, seen=seen("was-down"), meanwhile=itself.meanwhile
    )
    yield rules.record_damaged(about("record-damaged"), itself.set_aside, seen=seen("record-damaged"))
    yield rules.clock_untrusted(about("clock-untrusted"), bool(itself.clock_doubt), itself.clock_doubt)
    yield rules.disk_low(about("disk-low"), itself.free_bytes)
    for channel_id, (name, stuck_s, far_end) in itself.stuck.items():
        finding = rules.channel_failing(about("channel-failing", channel_id), stuck_s, far_end)
        yield replace(finding, names={**finding.names, "channel": name})
