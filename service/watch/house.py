"""What the watch knows of vessels, probes and batches at one moment: a snapshot of the record."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from sqlalchemy import Connection

from service.plans.course import Course, course_from_json
from service.plans.model import Plan
from service.plans.reading import plan_from_json
from service.record.absences import absences, workings
from service.record.batches import batches
from service.record.facts import (
    Absence,
    Assignment,
    Batch,
    CalibrationLine,
    ChannelRow,
    Probe,
    Vessel,
    Working,
)
from service.record.notation import Notation, read_notation
from service.record.outbox import channels
from service.record.vessels import assignments, calibrations, probes, vessels

LIVE_STATES = ("running", "conditioning")


@dataclass(frozen=True, slots=True)
class LiveBatch:
    """A batch that has not ended, with its plan and course read."""

    row: Batch
    plan: Plan
    course: Course


@dataclass(frozen=True, slots=True)
class House:
    """Vessels, probes, assignments, calibrations, unfinished batches and channels, as last loaded.

    absences: of the brewer. working: who works at which vessel, by its id. notation: None until chosen.
    """

    vessels: Mapping[str, Vessel]
    probes: Mapping[str, Probe]
    assignments: tuple[Assignment, ...]
    lines: Mapping[str, tuple[CalibrationLine, ...]]
    batches: tuple[LiveBatch, ...]
    channels: tuple[ChannelRow, ...]
    absences: tuple[Absence, ...] = ()
    working: Mapping[str, Working] = field(default_factory=dict)
    notation: Notation | None = None

    def calibrated(self, probe_id: str, raw_c: float, at: datetime) -> float:
        """A raw value brought through the calibration that holds at its time."""
        line = line_at(self.lines.get(probe_id, ()), at)
        return raw_c if line is None else line.slope * raw_c + line.offset_c

    def absence_at(self, at: datetime) -> Absence | None:
        """The absence that holds at a time, when the channel it names is still there."""
        there = {channel.id for channel in self.channels}
        return next((a for a in self.absences if a.from_at <= at < a.to_at and a.channel_id in there), None)

    def assigned(self, at: datetime, probe_id: str) -> Assignment | None:
        """Where a probe hangs at a time."""
        return next(
            (
                a
                for a in reversed(self.assignments)
                if a.probe_id == probe_id and _holds(a.from_at, a.to_at, at)
            ),
            None,
        )

    def probe_of(self, vessel_id: str, role: str, at: datetime) -> Probe | None:
        """The probe in this role at a vessel at a time; of several the one assigned last, and one that
        measures before one that a person reads."""
        here = [
            self.probes[a.probe_id]
            for a in reversed(self.assignments)
            if a.vessel_id == vessel_id
            and a.role == role
            and a.probe_id in self.probes
            and _holds(a.from_at, a.to_at, at)
        ]
        return min(here, key=lambda probe: probe.source == "typed", default=None)

    def probes_at(self, vessel_id: str, at: datetime) -> list[tuple[Probe, str]]:
        """Every probe at a vessel at a time, with its role."""
        return [
            (self.probes[a.probe_id], a.role)
            for a in self.assignments
            if a.vessel_id == vessel_id and a.probe_id in self.probes and _holds(a.from_at, a.to_at, at)
        ]

    def batch_in(self, vessel_id: str, at: datetime) -> LiveBatch | None:
        """The unfinished batch whose place this vessel is at a time; a running one before one in bottles."""
        here = [
            b
            for b in self.batches
            for p in b.row.places
            if p.vessel_id == vessel_id and _holds(p.from_at, p.to_at, at)
        ]
        here.sort(key=lambda b: (b.row.state != "running", -b.row.started_at.timestamp()))
        return here[0] if here else None


def _holds(from_at: datetime, to_at: datetime | None, at: datetime) -> bool:
    return from_at <= at and (to_at is None or at < to_at)


def line_at(lines: tuple[CalibrationLine, ...], at: datetime) -> CalibrationLine | None:
    """The calibration that holds at a time: the one with the latest `from_at` not after it."""
    return next((line for line in reversed(lines) if line.from_at <= at), None)


def load_house(connection: Connection) -> House:
    """Read the snapshot from the record."""
    lines: dict[str, tuple[CalibrationLine, ...]] = {}
    for line in calibrations(connection):
        lines[line.probe_id] = (*lines.get(line.probe_id, ()), line)
    return House(
        vessels={v.id: v for v in vessels(connection)},
        probes={p.id: p for p in probes(connection)},
        assignments=tuple(assignments(connection)),
        lines=lines,
        batches=tuple(live_batch(row) for row in batches(connection, LIVE_STATES)),
        channels=tuple(channels(connection)),
        absences=tuple(absences(connection)),
        working=workings(connection),
        notation=read_notation(connection),
    )


def live_batch(row: Batch) -> LiveBatch:
    """A stored batch with its plan and course read."""
    return LiveBatch(row, plan_from_json(row.plan), course_from_json(row.course))
