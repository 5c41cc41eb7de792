"""What the record knows of vessels, probes, batches and channels, as plain values."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

ROLES = ("liquid", "surroundings", "bath")
VESSEL_KINDS = ("kettle", "fermenter", "bath", "crate", "keg", "room")


@dataclass(frozen=True, slots=True)
class Vessel:
    """A vessel, or a room: whatever a probe hangs in or beside."""

    id: str
    name: str
    kind: str
    wall: str | None
    volume_l: float | None
    near: tuple[str, ...]
    created_at: datetime


@dataclass(frozen=True, slots=True)
class Probe:
    """A temperature source. number: the small whole number its minutes are stored under.

    resolution_bits: the resolution asked of it, None where it keeps its own.
    topic, path, time_path: for a probe over MQTT, which messages are its own and where in a payload the
    value and its time stand; None for others.
    """

    id: str
    number: int
    label: str
    source: str
    address: str | None
    mounting: str | None
    interval_s: float | None
    created_at: datetime
    resolution_bits: int | None = None
    topic: str | None = None
    path: str | None = None
    time_path: str | None = None


@dataclass(frozen=True, slots=True)
class Assignment:
    """A probe in a role at a vessel, from a time to a time (None: still)."""

    id: int
    probe_id: str
    vessel_id: str
    role: str
    from_at: datetime
    to_at: datetime | None


@dataclass(frozen=True, slots=True)
class CalibrationLine:
    """A straight line valid from a time: temperature = slope * raw + offset_c."""

    probe_id: str
    from_at: datetime
    slope: float
    offset_c: float


@dataclass(frozen=True, slots=True)
class PlacedFor:
    """A batch in a vessel, from a time to a time (None: still)."""

    n: int
    vessel_id: str
    from_at: datetime
    to_at: datetime | None


@dataclass(frozen=True, slots=True)
class Batch:
    """One gyle as stored: its own copy of the plan, its course and its places."""

    id: str
    name: str
    plan_id: str | None
    plan: Mapping[str, Any]
    course: Mapping[str, Any]
    state: str
    volume_l: float | None
    og: float | None
    expected_fg: float | None
    yeast: Mapping[str, Any] | None
    started_at: datetime
    version: int
    created_at: datetime
    places: tuple[PlacedFor, ...]


@dataclass(frozen=True, slots=True)
class ChannelRow:
    """A way for messages to leave, with its secrets.

    for_helper: it speaks only during an absence that names it. digest_at: local time ("08:00") of a daily
    message, None without.
    """

    id: str
    name: str
    kind: str
    config: Mapping[str, Any]
    quiet_hours: Mapping[str, Any] | None
    least_priority: str
    created_at: datetime
    for_helper: bool = False
    digest_at: str | None = None


@dataclass(frozen=True, slots=True)
class Absence:
    """The brewer is away from a time until another; a helper reads the channel meanwhile."""

    id: str
    from_at: datetime
    to_at: datetime
    channel_id: str
    note: str | None
    created_at: datetime


@dataclass(frozen=True, slots=True)
class Working:
    """Somebody works at a vessel: since, until, and what they do."""

    since: datetime
    until: datetime
    reason: str

    def holds(self, at: datetime) -> bool:
        """Whether it holds at a time; not before its beginning, when the clock was set back."""
        return self.since <= at < self.until
