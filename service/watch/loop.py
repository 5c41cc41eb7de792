"""The watch: sweep, screen, fold, judge, commit, publish, on and on.

One thread goes round. Everything it decides is worked out first, committed in one transaction, and only
then taken over and published. What fails is counted and shown, and the next round comes all the same.
"""

import logging
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from sensors.bus import Sweep, SweptSource
from sensors.sample import ProbeId, Sample
from sensors.screening import LIMITS, Limits
from service.alarms.model import AlarmState, Subject
from service.alarms.rules import silent_limit_s
from service.alarms.words import Units
from service.errors import GylewatchError
from service.plans.band import Band
from service.plans.kinds import KINDS
from service.record.database import Record
from service.record.notation import Notation
from service.record.vessels import add_probe
from service.watch import arrivals
from service.watch.book import Book, Change, Handling
from service.watch.clock_sense import Clock, ClockSense
from service.watch.committing import Committing
from service.watch.condition import Condition
from service.watch.digest import Digests
from service.watch.evidence import Evidence, Insight
from service.watch.fold import minute_of
from service.watch.gather import interval_of, probe_evidence
from service.watch.health import missing
from service.watch.house import load_house
from service.watch.intake import Intake, Sight, Stamp
from service.watch.judge import Judgement, band_now, judge
from service.watch.links import the_key
from service.watch.listening import Ears
from service.watch.meanwhile import measured_ends
from service.watch.publish import Broker
from service.watch.reception import Reception
from service.watch.sources import Sources
from service.watch.speech import Voice
from service.watch.startup import last_commit, took_up
from service.watch.suppressing import bands_wait_until
from service.watch.telling import tell_alarms, tell_samples, tell_stage, tell_stage_now

log = logging.getLogger("gylewatch.watch")

KETTLE_SWEEP_S = 2.0


@dataclass(frozen=True, slots=True)
class WatchSettings:
    """What the watch is told at the start.

    folder: where the record lies, None elsewhere than in files. set_aside: where a damaged record went.
    link_base: where links in messages lead, None when no link could be opened from elsewhere.
    backups: the data folder when backups are made of it, None when that is not this program's work.
    limits: where belief in a probe's values ends.
    """

    sweep_s: float
    zone: ZoneInfo
    units: Units
    link_base: str | None
    folder: Path | None
    set_aside: str | None = None
    backups: Path | None = None
    limits: Limits = LIMITS


@dataclass(frozen=True, slots=True)
class StageNow:
    """The stage of the batch in a vessel, and its band."""

    batch_id: str
    key: str
    entered_at: datetime
    due_at: datetime | None
    band: Band


class Watch:
    """Goes round in its own thread; asked and told things from others, under one lock."""

    def __init__(
        self,
        record: Record,
        sources: Sequence[SweptSource],
        clock: Clock,
        settings: WatchSettings,
        broker: Broker,
        new_messages: Callable[[], None],
        keep: Callable[[], None] = lambda: None,
    ) -> None:
        self._record = record
        self.sources = Sources(sources)
        self._clock = clock
        self._settings = settings
        self._new_messages = new_messages
        self._keep = keep
        self.broker = broker
        self.intake = Intake(clock.monotonic, settings.limits)
        self._committing = Committing(clock)
        self._sense = ClockSense(clock, self._committing)
        self._book = Book()
        self._lock = threading.RLock()
        self._stopping = threading.Event()
        self._wake = threading.Event()
        self._thread: threading.Thread | None = None
        self._told: dict[str, Insight] = {}
        self.rounds = 0
        self.failed_rounds = 0
        self._last_failure = ""
        self.link_key = record.write(the_key)
        self._digests = Digests(record, settings.zone)
        self._reception = Reception(record, self.intake, settings.sweep_s)
        with record.reading() as connection:
            self.house = load_house(connection)
            self._book.load(connection)
            self._committing.load(connection, self.house)
            self._looked_at = last_commit(connection)
        self._condition = Condition(
            record, clock.monotonic, settings.folder, settings.backups, self._looked_at, settings.set_aside
        )
        took_up(self.intake, record, self.house, clock)
        self.sources.want_resolutions(self.house.probes.values())

    @property
    def sweep_s(self) -> float:
        """Seconds between two sweeps outside the kettle."""
        return self._settings.sweep_s

    @property
    def notation(self) -> Notation:
        """How the brewer wants figures written: as chosen last, until then as set at the start."""
        return self.house.notation or Notation(temperatures=self._settings.units.value)

    def start(self) -> None:
        """Begin to go round."""
        self._thread = threading.Thread(target=self._go_round, name="watch", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End, and commit the minutes as far as they have come."""
        self._stopping.set()
        self._wake.set()
        if self._thread is not None:
            self._thread.join(timeout=3)
        with self._lock:
            try:
                self._commit(self._clock.now(), Judgement((), {}, {}), Change({}, (), ()))
            except GylewatchError as refused:
                log.warning("the last minutes could not be stored: %s", refused)
        self.sources.close()

    def _go_round(self) -> None:
        due = self._clock.monotonic()
        while not self._stopping.is_set():
            try:
                self.round()
            except Exception as failure:
                self.failed_rounds += 1
                self._last_failure = f"{type(failure).__name__}: {failure}"
                log.exception("a round of the watch failed")
            now = self._clock.monotonic()
            due = max(due + self._interval_s(), now)
            self._wake.wait(max(due - now, 0.05))
            if self._wake.is_set():
                self._wake.clear()
                due = self._clock.monotonic()

    def _interval_s(self) -> float:
        kettles = any(
            (stage := band_now(live, self._clock.now())) is not None and KINDS[stage[0].kind].kettle
            for live in self.house.batches
        )
        return min(self._settings.sweep_s, KETTLE_SWEEP_S) if kettles else self._settings.sweep_s

    def round(self) -> None:
        """Go round once: everything that happens between two sweeps."""
        swept = self.sources.sweep(self._clock.now())
        with self._lock:
            now = self._clock.now()
            doubt = self._sense.doubt(now)
            present = self._sense.present(now, doubt, self.house)
            jumped = self._sense.jumped(present)
            if jumped is not None:
                self._book.clock_moved(jumped)
                self._committing.clock_moved(jumped)
            for_stages = self._sense.for_stages(present, jumped, believed=not doubt)
            stamp = self._stamp(now, dated=not doubt)
            self.intake.close_minutes(stamp)
            self._meet_new_probes(swept, now)
            samples: list[Sample] = []
            self.sources.remember(swept)
            for name, sweep in swept:
                samples += self.intake.take(name, sweep, self.house, now, stamp)[0]
            tell_samples(self.broker, self.house, samples)
            self._judge_and_commit(present, doubt, for_stages)
            self.rounds += 1

    def _stamp(self, now: datetime, dated: bool) -> Stamp:
        return Stamp(minute_of(now) if dated else int(self._clock.since_boot_s() // 60), dated)

    def _meet_new_probes(self, swept: Sequence[tuple[str, Sweep]], now: datetime) -> None:
        fresh = [
            (probe_id, name)
            for name, sweep in swept
            for probe_id in sorted(sweep.present)
            if probe_id not in self.house.probes
        ]
        if not fresh:
            return

        def work(connection: Connection) -> None:
            for probe_id, name in fresh:
                address = probe_id if name == "onewire" else None
                add_probe(connection, probe_id, str(probe_id), name, address, None, now)

        self._record.write(work)
        log.info("new on the bus: %s", ", ".join(probe_id for probe_id, _ in fresh))
        self.reload()

    def _judge_and_commit(self, now: datetime, doubt: str, for_stages: datetime) -> None:
        itself = self._condition.look(self.house, now, doubt, self._sense.still_doubtful())
        evidence = Evidence(
            now=now,
            tz=self._settings.zone,
            units=Units(self.notation.temperatures),
            sweep_s=self._settings.sweep_s,
            probes=probe_evidence(
                self.intake,
                self.house,
                {probe_id: self.is_silent(probe_id) for probe_id in self.house.probes},
                self._condition.day_ago,
                self._committing.plateaus,
                self._settings.sweep_s,
                now,
            ),
            insights=self._insights(),
            itself=itself,
            looked_at=self._looked_at,
            stages_at=for_stages,
        )
        evidence = self._with_meanwhile(evidence)
        judgement = judge(self.house, evidence, self._book.states, self._committing.progress)
        change = self._book.after_findings(
            judgement.findings,
            self._ears(now),
            self._voice(),
            now,
            judgement.done,
            judgement.suppressed,
        )
        self._committing.learn_plateaus(self.intake, self.house, now)
        urgent = change.urgent or bool(judgement.courses) or self._committing.is_due(self.intake, judgement)
        if urgent:
            self._commit(now, judgement, change)
        else:
            self._book.carry(change)
            self._committing.progress.update(judgement.progress)
        self._condition.was_judged()
        self._looked_at = for_stages
        if not doubt:
            self._send_digests(evidence, now)

    def _with_meanwhile(self, evidence: Evidence) -> Evidence:
        """After a gap, with what was measured at its ends."""
        down_s = evidence.itself.down_s
        if down_s is None:
            return evidence
        with self._record.reading() as connection:
            words = measured_ends(
                connection,
                self.house,
                evidence.probes,
                evidence.units,
                self._settings.zone,
                down_s,
                evidence.now,
            )
        return replace(evidence, itself=replace(evidence.itself, meanwhile=words))

    def _insights(self) -> dict[str, Insight]:
        """What computations say of the batches that are not over."""
        return {b.row.id: self._told[b.row.id] for b in self.house.batches if b.row.id in self._told}

    def _send_digests(self, evidence: Evidence, now: datetime) -> None:
        temps = {probe_id: seen.temp_c for probe_id, seen in evidence.probes.items()}
        units, base = Units(self.notation.temperatures), self._settings.link_base
        if self._digests.send(self.house, tuple(self._book.states.values()), temps, units, base, now):
            self._new_messages()

    def _commit(self, now: datetime, judgement: Judgement, change: Change) -> None:
        """Commit what a round decided, then take it over and publish it."""
        voice = self._voice()
        before = dict(self._book.states)
        try:
            states = self._committing.commit(
                self._record, self.intake, self._book, self.house, judgement, change, voice, now
            )
        except GylewatchError:
            self.intake.bound()
            raise
        self._book.take_over(states, change)
        if judgement.courses:
            self.reload()
            for batch_id in judgement.courses:
                tell_stage_now(self.broker, self.house, batch_id, now)
        for transition in change.transitions:
            state = states[transition.subject]
            if state.alarm_id is not None:
                log.info("alarm a-%s %s: %s", state.alarm_id, transition.event, transition.cause)
        tell_alarms(self.broker, before, states)
        if change.speeches:
            self._new_messages()
        if change.transitions:
            self._keep()

    def _voice(self) -> Voice:
        return Voice(
            self._settings.zone,
            Units(self.notation.temperatures),
            {v.id: v.name for v in self.house.vessels.values()},
            self._settings.link_base,
            self.link_key,
        )

    def _ears(self, now: datetime) -> Ears:
        return Ears(self.house.channels, self.house.absence_at(now))

    # what others ask and tell

    def reload(self) -> None:
        """Look at the record again: somebody changed vessels, probes, plans, batches or channels."""
        with self._lock:
            with self._record.reading() as connection:
                self.house = load_house(connection)
            self._condition.read_again()
            self.sources.want_resolutions(self.house.probes.values())
            self._keep()
        self._wake.set()

    def forget(self, probe_id: str) -> None:
        """A probe was taken out of use: that it says nothing, or fails, is no fault any more."""
        with self._lock:
            self.intake.forget(ProbeId(probe_id))

    def is_silent(self, probe_id: str) -> bool:
        """Whether a probe has said nothing believable for so long that nothing is known of it now."""
        probe = self.house.probes[probe_id]
        return self.intake.silence_s(probe_id) >= silent_limit_s(interval_of(probe, self._settings.sweep_s))

    def is_late(self, probe_id: str) -> bool:
        """Whether a probe has missed its last turn."""
        probe = self.house.probes[probe_id]
        return self.intake.silence_s(probe_id) > 1.5 * interval_of(probe, self._settings.sweep_s)

    def sight(self, probe_id: str, now: datetime) -> Sight | None:
        """A probe as seen now; None when nothing was ever heard of it."""
        if probe_id not in self.house.probes:
            return None
        return self.intake.sight(probe_id, now, self.is_silent(probe_id))

    def recent(self, probe_id: str) -> list[tuple[datetime, float]]:
        """The believed values of a probe in the last hour, at least 15 s apart, oldest first."""
        with self._lock:
            seen = self.intake.live.get(ProbeId(probe_id))
            return [] if seen is None else list(seen.recent)

    def stage_now(self, vessel_id: str, now: datetime) -> StageNow | None:
        """The stage of the batch in a vessel, and its band now."""
        live = self.house.batch_in(vessel_id, now)
        here = None if live is None else band_now(live, now)
        if live is None or here is None:
            return None
        stage, step, band = here
        return StageNow(live.row.id, stage.key, step.entered_at, step.due_at, band)

    def bands_wait_until(self, vessel_id: str, now: datetime) -> datetime | None:
        """Until when the band alarms of a vessel wait, at most, for its band to be reached; None: no more."""
        live = self.house.batch_in(vessel_id, now)
        return (
            None if live is None else bands_wait_until(live, self._committing.progress.get(live.row.id), now)
        )

    def standing_at(self, vessel_id: str) -> int:
        """How many alarms of a vessel stand."""
        return self._book.standing(vessel_id)

    def handle_alarm(self, number: int, handling: Handling) -> AlarmState:
        """Do something to a standing alarm and commit it; ConflictError when it is over."""
        with self._lock:
            now = self._clock.now()
            subject, change = self._book.after_handling(number, handling, self._ears(now), self._voice(), now)
            after = change.states[subject]
            self._commit(now, Judgement((), {}, {}), change)
            return self._book.states.get(subject, after)

    def handle_subject(self, subject: Subject, handling: Handling) -> AlarmState:
        """Do something to what an alarm is or would be about, and commit it."""
        with self._lock:
            now = self._clock.now()
            change = self._book.after_handling_subject(subject, handling, self._ears(now), self._voice(), now)
            self._commit(now, Judgement((), {}, {}), change)
            return self._book.states.get(subject, AlarmState(subject))

    def out_of_service(self) -> list[AlarmState]:
        """What was taken out of service."""
        return [state for state in tuple(self._book.states.values()) if state.out_of_service]

    def arrive(self, probe_id: ProbeId, samples: Sequence[tuple[int, datetime, float]]) -> arrivals.Arrived:
        """Take samples that arrive as (index, time, value); returns after their commit."""
        with self._lock:
            doubt = self._clock.doubt(self._committing.newest)
            arrived, newest = self._reception.take(self.house, probe_id, samples, self._clock.now(), doubt)
            if newest is not None:
                tell_samples(self.broker, self.house, [newest])
                self._wake.set()
            return arrived

    def tell_insight(self, batch_id: str, insight: Insight) -> None:
        """What computations say of a batch now; the next round judges by it."""
        with self._lock:
            self._told = {**self._told, batch_id: insight}

    def insight_of(self, batch_id: str) -> Insight:
        """What computations said last of a batch; nothing before the first."""
        return self._told.get(batch_id, Insight())

    def tell_damage(self, what: str) -> None:
        """The record was found to be damaged while in use."""
        with self._lock:
            self._condition.damaged(what)
        self._wake.set()

    def tell_stage(self, batch_id: str, stage: str | None) -> None:
        """Tell open pages that a batch is in another stage."""
        tell_stage(self.broker, batch_id, stage)

    def health(self) -> dict[str, Any]:
        """Whether the watch goes round and the record can be written, with what is missing."""
        writer = self._record.writer.health()
        since_s = self._clock.monotonic() - self._committing.last_mono
        wrong = missing(self._record, self.rounds, since_s, self._settings.sweep_s, self._last_failure)
        return {
            "ready": not wrong,
            "missing": wrong,
            "rounds": self.rounds,
            "failed_rounds": self.failed_rounds,
            "sources": self.sources.troubles(),
            "notes": self.sources.notes(),
            "clock": self._condition.evidence.clock_doubt or "believed",
            "writer": {
                "waiting": writer.waiting,
                "slowest_ms": round(writer.slowest_s * 1000, 1),
                "failures": writer.failures,
            },
            "open_pages": self.broker.readers,
        }
