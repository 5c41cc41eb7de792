"""The plain values of the alarms: what is found, what is remembered of it, and what changed.

The words are those of ANSI/ISA-18.2 and IEC 62682. All times are aware UTC.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from datetime import UTC, datetime
from enum import StrEnum
from typing import Any

from service.errors import InvalidInputError, Problem

Numbers = Mapping[str, float | str]
"""The figures behind a finding, by name; temperatures end in ``_c``, durations in ``_s``."""


class Priority(StrEnum):
    """How soon an answer is wanted. High passes quiet hours."""

    LOW = "low"
    MEDIUM = "medium"
    HIGH = "high"

    @property
    def rank(self) -> int:
        """0, 1 or 2: compare ranks, never the words (which sort by the alphabet)."""
        return _RANKS[self]


_RANKS = {Priority.LOW: 0, Priority.MEDIUM: 1, Priority.HIGH: 2}


class CoreState(StrEnum):
    """The four core states of ANSI/ISA-18.2. No alarm here latches, so there is no fifth."""

    NORMAL = "normal"
    UNACKNOWLEDGED = "unacknowledged"
    ACKNOWLEDGED = "acknowledged"
    RETURNED_UNACKNOWLEDGED = "returned-unacknowledged"


class Presence(StrEnum):
    """What one look at the evidence says about a cause."""

    PRESENT = "present"
    NEAR = "near"
    """Back inside, but not by the whole deadband: starts nothing and ends nothing."""
    ABSENT = "absent"
    UNKNOWN = "unknown"
    """No data: changes nothing. It is never taken for all well."""


@dataclass(frozen=True, slots=True)
class Subject:
    """What an alarm is about. Each subject has one state, however often it is raised.

    key: a key of the catalogue. other: what is neither vessel nor probe, such as a channel's id.
    """

    key: str
    vessel_id: str | None = None
    probe_id: str | None = None
    other: str | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """What a rule found about one subject at one time. None takes the catalogue's value.

    reason: one line of words, no full stop: "22.6 C since 14:05, 1.1 C over the band".
    after_s, clear_after_s: how long the cause must last before the alarm, and be gone before it returns.
    names: words for people, such as ``vessel`` and ``probe``; ``stage_kind`` settles what is said.
    """

    subject: Subject
    presence: Presence
    reason: str = ""
    numbers: Numbers = field(default_factory=dict)
    after_s: float | None = None
    clear_after_s: float | None = None
    priority: Priority | None = None
    batch_id: str | None = None
    stage: str | None = None
    advice: str | None = None
    respond_within_s: float | None = None
    names: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class AlarmState:
    """One subject's whole memory. Kept by the record, so that it outlives a restart.

    alarm_id: the record's number of the present instance; None from a raise until the record gives one.
    pending_since, clearing_since: since when the delay before raising or returning runs, clamped as
    `timers` says. since: when the present cause was first seen, for words. episode_at: the latest raise
    (raised_at is the first one of this instance). unknown_since: since when nothing is known of the cause
    of an alarm that stands, so that its words are not read as of now. judged_at: the last step that
    counted time. flaps: how often it came back within an hour of having returned. episode counts the
    raises of this subject, instance is the episode in which the present alarm began; shifted_s: by how
    much its times were moved with the clock, all told. return_known: somebody knew of its return, so
    nothing is said of it. The members from first_spoken_at on are what was said, on one channel (see
    `said`).
    """

    subject: Subject
    alarm_id: int | None = None
    core: CoreState = CoreState.NORMAL
    pending_since: datetime | None = None
    clearing_since: datetime | None = None
    judged_at: datetime | None = None
    since: datetime | None = None
    unknown_since: datetime | None = None
    raised_at: datetime | None = None
    episode_at: datetime | None = None
    acknowledged_at: datetime | None = None
    acknowledged_by: str | None = None
    returned_at: datetime | None = None
    returned_because: str | None = None
    shelved_until: datetime | None = None
    shelve_reason: str | None = None
    suppressed_by: str | None = None
    suppressed_until: datetime | None = None
    out_of_service: bool = False
    priority: Priority = Priority.LOW
    reason: str = ""
    numbers: Numbers = field(default_factory=dict)
    names: Mapping[str, str] = field(default_factory=dict)
    batch_id: str | None = None
    stage: str | None = None
    consequence: str = ""
    advice: str = ""
    respond_by: datetime | None = None
    flaps: int = 0
    episode: int = 0
    instance: int = 0
    shifted_s: float = 0.0
    return_known: bool = False
    first_spoken_at: datetime | None = None
    return_spoken_at: datetime | None = None
    last_spoken_at: datetime | None = None
    spoken_priority: Priority | None = None
    reminders: int = 0
    next_reminder_at: datetime | None = None

    @property
    def standing(self) -> bool:
        """Whether it is listed: every core state but normal, shelved and suppressed ones included."""
        return self.core is not CoreState.NORMAL

    @property
    def cause_stands(self) -> bool:
        """Whether the cause itself has not returned to normal."""
        return self.core in (CoreState.UNACKNOWLEDGED, CoreState.ACKNOWLEDGED)

    @property
    def probe_id(self) -> str | None:
        """The probe it is about or, for an alarm of a vessel, the one that last saw it."""
        return self.subject.probe_id or self.names.get("probe_id")

    def is_shelved(self, now: datetime) -> bool:
        """Whether a shelf holds it silent at `now`."""
        return self.shelved_until is not None and now < self.shelved_until


@dataclass(frozen=True, slots=True)
class Transition:
    """One change of one subject's state, with its cause in words and the numbers that led to it.

    event: one of `lifecycle.Event`. Flags (shelved, suppressed, …) leave `before` and `after` equal.
    """

    subject: Subject
    at: datetime
    event: str
    before: CoreState
    after: CoreState
    cause: str
    numbers: Numbers = field(default_factory=dict)


_TIMES = frozenset(f.name for f in fields(AlarmState) if "datetime" in str(f.type))
_PRIORITIES = frozenset({"priority", "spoken_priority"})


def to_json(state: AlarmState) -> dict[str, Any]:
    """The state as values that `json.dumps` takes; every member is always there."""
    plain: dict[str, Any] = {}
    for f in fields(AlarmState):
        plain[f.name] = _plain(getattr(state, f.name))
    return plain


def state_from_json(stored: Mapping[str, Any]) -> AlarmState:
    """The state that `to_json` gave.

    Members that are missing take their defaults and unknown ones are passed over, so that a row
    written by another version can be read. Raises InvalidInputError naming a value of the wrong kind.
    """
    known: dict[str, Any] = {}
    for f in fields(AlarmState):
        if f.name not in stored:
            continue
        try:
            known[f.name] = _value(f.name, stored[f.name])
        except (ValueError, TypeError, AttributeError) as error:
            raise InvalidInputError(
                Problem(f"/{f.name}", f"{stored[f.name]!r} is no value of an alarm: {error}")
            ) from error
    if "subject" not in known:
        raise InvalidInputError(Problem("/subject", "is missing", "Name what the alarm is about."))
    return AlarmState(**known)


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, CoreState | Priority):
        return value.value
    if isinstance(value, Subject):
        return {f.name: getattr(value, f.name) for f in fields(Subject)}
    if isinstance(value, Mapping):
        return dict(value)
    return value


def _value(name: str, value: Any) -> Any:
    if name == "subject":
        return Subject(**value)
    if name == "core":
        return CoreState(value)
    if value is None:
        return None
    if name in _TIMES:
        return _time(value)
    if name in _PRIORITIES:
        return Priority(value)
    if name in ("numbers", "names"):
        return dict(value)
    return value


def _time(value: str) -> datetime:
    at = datetime.fromisoformat(value)
    if at.tzinfo is None:
        raise ValueError("the time has no offset")
    return at.astimezone(UTC)
