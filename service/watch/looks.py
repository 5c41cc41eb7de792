"""What the judge finds of probes and of the watch itself. Pure."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from service.alarms import rules
from service.alarms.model import AlarmState, Finding, Priority, Subject
from service.alarms.rules import About
from service.plans.course import current
from service.record.facts import Vessel
from service.watch.evidence import Evidence, Insight
from service.watch.house import House, LiveBatch
from service.watch.typed import TYPED


def of_probes(house: House, evidence: Evidence, memories: Mapping[Subject, AlarmState]) -> Iterator[Finding]:
    """Silence and faults of every probe that serves a batch; others may rest in a drawer."""
    for assignment in house.assignments:
        if assignment.to_at is not None or assignment.from_at > evidence.now:
            continue
        probe = house.probes.get(assignment.probe_id)
        vessel = house.vessels.get(assignment.vessel_id)
        if probe is None or vessel is None or probe.id not in evidence.probes or probe.source == TYPED:
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
        yield rules.probe_frozen(about("probe-frozen"), seen.same_for_s, seen.last_c, seen.frozen_after_s)
        if assignment.role == "liquid":
            insight = evidence.insights.get(batch.row.id, Insight())
            yield rules.probe_adrift(about("probe-adrift"), insight.adrift, seen.temp_c, None)


def of_itself(evidence: Evidence, memories: Mapping[Subject, AlarmState]) -> Iterator[Finding]:
    """The watch's own health."""
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
    yield rules.backup_old(about("backup-old"), itself.backup_age_s, itself.kept_for_s, itself.backup_failure)
    for channel_id, (name, stuck_s, far_end) in itself.stuck.items():
        finding = rules.channel_failing(about("channel-failing", channel_id), stuck_s, far_end)
        yield replace(finding, names={**finding.names, "channel": name})
