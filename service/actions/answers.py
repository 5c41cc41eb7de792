"""What is answered: the shapes of the HTTP contract, also used by the page."""

from typing import Any

from pydantic import ConfigDict, Field

from service.actions.wire import Answer, Instant


class ProbeAt(Answer):
    """A probe at a vessel."""

    probe_id: str
    role: str


class Interval(Answer):
    """A value with its 90 % interval."""

    value: float | None
    low: float | None
    high: float | None


class VesselNow(Answer):
    """A vessel at this moment; temp_c is the last believed value, null while the probe is silent.

    surroundings_note: how old the room's temperature is, where a person reads it; null where a probe does.
    """

    temp_c: float | None
    at: Instant | None
    age_s: float | None
    surroundings_c: float | None
    surroundings_note: str | None
    target_c: float | None
    low_c: float | None
    high_c: float | None
    stage: str | None
    batch_id: str | None
    trend_c_per_h: float | None
    leaves_band_at: Instant | None
    standing: int


class Thermal(Answer):
    """What has been learned of a vessel."""

    tau_h: Interval
    learned_from: int


class VesselAnswer(Answer):
    """A vessel with what hangs in it and how it is."""

    id: str
    name: str
    kind: str
    wall: str | None
    volume_l: float | None
    near: list[str]
    probes: list[ProbeAt]
    now: VesselNow
    thermal: Thermal


class LastValue(Answer):
    """A value and its time."""

    temp_c: float
    at: Instant


class ProbeHealth(Answer):
    """How a probe fares. state: ``well``, ``faulty``, ``silent`` or ``waiting`` (to be given a vessel)."""

    state: str
    faults_1h: dict[str, int]
    read_ms: float | None
    sentence: str


class ProbeAnswer(Answer):
    """A probe."""

    id: str
    label: str
    source: str
    address: str | None
    vessel_id: str | None
    role: str | None
    mounting: str | None
    interval_s: float | None
    resolution_bits: int | None
    topic: str | None
    path: str | None
    time_path: str | None
    last: LastValue | None
    health: ProbeHealth


class CalibrationAnswer(Answer):
    """A straight line, true = slope * raw + offset_c, with the points it came from."""

    n: int
    from_: Instant = Field(serialization_alias="from")
    slope: float
    offset_c: float
    uncertainty_c: float
    points: list[dict[str, Any]]
    created_at: Instant
    warnings: list[str]


class HeaterAnswer(Answer):
    """How many changes of a heater are known."""

    known: int


class RefusedSample(Answer):
    """A pushed sample that was not taken, and why."""

    index: int
    reason: str


class Receipt(Answer):
    """What became of pushed samples; it follows the commit."""

    new: int
    known: int
    refused: list[RefusedSample]


class PlanAnswer(Answer):
    """A stored plan."""

    id: str
    name: str
    stages: list[dict[str, Any]]
    created_at: Instant
    changed_at: Instant


class PlaceAnswer(Answer):
    """A batch in a vessel, from a time to a time."""

    n: int
    vessel_id: str
    from_: Instant = Field(serialization_alias="from")
    to: Instant | None


class StageAnswer(Answer):
    """One step of a batch through its plan."""

    n: int
    key: str
    kind: str
    entered_at: Instant
    left_at: Instant | None
    lasts_s: float | None
    how: str


class DueAnswer(Answer):
    """Something that a stage wants: a prompt, or its end."""

    kind: str
    stage: str
    say: str
    at: Instant


class BatchAnswer(Answer):
    """A batch."""

    id: str
    name: str
    state: str
    vessel_id: str | None
    plan_id: str | None
    plan: dict[str, Any]
    stage: str | None
    stage_entered_at: Instant | None
    stage_due_at: Instant | None
    volume_l: float | None
    og: float | None
    expected_fg: float | None
    yeast: dict[str, Any] | None
    started_at: Instant
    pitched_at: Instant | None
    ended_at: Instant | None
    places: list[PlaceAnswer]
    due: list[DueAnswer]


class SeriesProbe(Answer):
    """One probe's curve: parallel arrays, null at gaps."""

    probe_id: str
    role: str
    t: list[str]
    mean_c: list[float | None]
    min_c: list[float | None]
    max_c: list[float | None]


class BandAnswer(Answer):
    """The band over a stretch of time."""

    from_: Instant = Field(serialization_alias="from")
    to: Instant
    stage: str
    target_c: float | None
    low_c: float | None
    high_c: float | None


class StrayAnswer(Answer):
    """A stretch outside the band."""

    from_: Instant = Field(serialization_alias="from")
    to: Instant
    side: str
    worst_c: float
    stage: str


class BatchStray(StrayAnswer):
    """A stretch of a batch outside its band. beyond_c: how far outside its mean was at the worst."""

    beyond_c: float
    vessel_id: str


class GapAnswer(Answer):
    """A stretch without data."""

    probe_id: str
    from_: Instant = Field(serialization_alias="from")
    to: Instant


class ProbeMark(Answer):
    """A probe of the batch was hung (before_id null), taken away (probe_id null), or replaced."""

    at: Instant
    role: str
    vessel_id: str
    probe_id: str | None
    before_id: str | None
    sentence: str


class SeriesAnswer(Answer):
    """What a chart shows."""

    bucket_s: int
    probes: list[SeriesProbe]
    band: list[BandAnswer]
    strays: list[BatchStray]
    gaps: list[GapAnswer]
    probe_changes: list[ProbeMark]


class TransitionAnswer(Answer):
    """One change of an alarm's state."""

    at: Instant
    event: str
    before: str
    after: str
    cause: str
    numbers: dict[str, Any]


class AlarmAnswer(Answer):
    """An alarm. unknown_since: since when nothing is known of its cause; its reason is of before."""

    id: str
    key: str
    vessel_id: str | None
    batch_id: str | None
    probe_id: str | None
    stage: str | None
    state: str
    shelved_until: Instant | None
    suppressed_by: str | None
    out_of_service: bool
    priority: str
    raised_at: Instant | None
    acknowledged_at: Instant | None
    acknowledged_by: str | None
    returned_at: Instant | None
    reason: str
    unknown_since: Instant | None
    consequence: str
    advice: str
    respond_by: Instant | None


class AlarmWithTransitions(AlarmAnswer):
    """An alarm with its transitions, oldest first."""

    transitions: list[TransitionAnswer]


class ChannelHealth(Answer):
    """How deliveries on a channel go."""

    waiting: int
    failing_since: Instant | None
    last_at: Instant | None
    last_state: str | None
    far_end: str | None


class ChannelAnswer(Answer):
    """A channel with the members of its kind; its secrets are never shown again."""

    model_config = ConfigDict(extra="allow", frozen=True)

    id: str
    name: str
    kind: str
    quiet_hours: dict[str, Any] | None
    least_priority: str
    for_helper: bool
    digest_at: str | None
    created_at: Instant
    health: ChannelHealth


class TestedChannel(Answer):
    """What the far end said to a test message."""

    delivered: bool
    far_end: str
    took_ms: int
