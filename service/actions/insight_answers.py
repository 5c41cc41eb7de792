"""What estimates, forecasts, rehearsals and summaries answer: the shapes of the HTTP contract."""

from pydantic import ConfigDict, Field

from service.actions.answers import BatchStray, GapAnswer, Interval, StrayAnswer
from service.actions.tasting_answers import FaultAnswer
from service.actions.wire import Answer, Instant


class GravityInterval(Answer):
    """A specific gravity with its 90 % interval."""

    sg: float | None
    low: float | None
    high: float | None


class TimeInterval(Answer):
    """A time with its 90 % interval; null where it lies beyond what can be told."""

    at: Instant | None
    low: Instant | None
    high: Instant | None


class StoryWeights(Answer):
    """How likely each story is."""

    model_config = ConfigDict(extra="forbid", frozen=True, populate_by_name=True)

    normal: float | None
    stopped_early: float | None = Field(alias="stopped-early")
    not_started: float | None = Field(alias="not-started")


class FitAnswer(Answer):
    """How the fit went."""

    residual_c: float | None
    tau_h: Interval
    minutes_used: int | None
    readings_used: int | None


class EstimateAnswer(Answer):
    """The fermentation as inferred from its heat and from direct readings; intervals hold with 90 %."""

    at: Instant
    verdict: str
    gravity: GravityInterval
    share: Interval
    rate_pt_per_day: Interval
    finish: TimeInterval
    heat_w: Interval
    weights: StoryWeights
    evidence: list[str]
    fit: FitAnswer


class AheadPoint(Answer):
    """The beer at a coming time, with its 90 % interval and the band planned for it."""

    at: Instant
    temp_c: float
    low90_c: float
    high90_c: float
    target_c: float | None
    low_c: float | None
    high_c: float | None
    stage: str | None


class AdviceAnswer(Answer):
    """A small step with its computed effect; value is null where there is no figure."""

    kind: str
    value: float | None
    sentence: str


class ForecastAnswer(Answer):
    """The beer of the coming hours."""

    points: list[AheadPoint]
    leaves_band_at: Instant | None
    advice: list[AdviceAnswer]


class CallAnswer(Answer):
    """Something that will want a hand."""

    at: Instant
    because: str


class UnattendedAnswer(Answer):
    """Until when the batch may be left: null when nothing is foreseen."""

    until: Instant | None
    because: str
    next: list[CallAnswer]


class UnreachableAnswer(Answer):
    """A target that this place cannot reach."""

    stage: str
    why: str


class RehearsalAnswer(Answer):
    """A plan run against a vessel in a room."""

    points: list[AheadPoint]
    strays: list[StrayAnswer]
    unreachable: list[UnreachableAnswer]
    advice: list[AdviceAnswer]


class DegreeHours(Answer):
    """How far outside the band for how long, added up: degrees times hours."""

    warm: float
    cold: float


class PackagesAnswer(Answer):
    """A packaging and the warmth it has lived through since, as days at 20 C."""

    n: int
    at: Instant
    days_at_20_c: float | None


class AnsweredAlarm(Answer):
    """An alarm of the batch, and how long it waited for an answer."""

    id: str
    key: str
    priority: str
    raised_at: Instant | None
    acknowledged_at: Instant | None
    acknowledged_by: str | None
    answered_after_s: float | None
    returned_at: Instant | None


class ScoreAnswer(Answer):
    """How far off what was said was, and what share of its 90 % intervals held."""

    n: int
    rms: float
    bias: float
    holds: float
    same_rms: float | None
    sentence: str


class ScoresAnswer(Answer):
    """A replay of a finished batch, said against what happened; null where nothing can be compared."""

    at: Instant
    forecast: ScoreAnswer | None
    estimate: ScoreAnswer | None


class HourAnswer(Answer):
    """The mean of the hour that begins at a time."""

    at: Instant
    temp_c: float


class StageLooked(Answer):
    """A step of the batch looked back upon. days: how long it lasted, until now where it still does."""

    n: int
    key: str
    kind: str
    days: float
    watched_s: float
    in_band_s: float
    in_band_share: float | None
    degree_hours: DegreeHours
    warmest_hour: HourAnswer | None
    coldest_hour: HourAnswer | None


class DoneAnswer(Answer):
    """Something that was done while the beer was outside its band, or soon after."""

    at: Instant
    what: str


class StrayLooked(BatchStray):
    """A stretch outside the band with its length and what was done about it."""

    lasted_s: float
    done: list[DoneAnswer]


class MeasuredAnswer(Answer):
    """What the last direct reading makes of the batch."""

    at: Instant
    sg: float
    apparent_attenuation_percent: float | None
    alcohol_by_volume_percent: float | None


class EstimateAgainst(Answer):
    """A direct reading, and the gravity that was estimated last before it, with its 90 % interval."""

    n: int
    at: Instant
    sg: float
    estimated_at: Instant
    estimated_sg: float
    low: float
    high: float
    off_pt: float
    inside: bool


class SummaryAnswer(Answer):
    """A batch looked back upon."""

    from_: Instant = Field(serialization_alias="from")
    to: Instant
    watched_s: float
    in_band_s: float
    in_band_share: float | None
    degree_hours: DegreeHours
    stages: list[StageLooked]
    strays: list[StrayLooked]
    worked_at_c: float | None
    warmest_hour: HourAnswer | None
    coldest_hour: HourAnswer | None
    measured: MeasuredAnswer | None
    estimates: list[EstimateAgainst]
    packages: list[PackagesAnswer]
    gaps: list[GapAnswer]
    missing_s: float
    alarms: list[AnsweredAlarm]
    scores: ScoresAnswer | None
    faults: list[FaultAnswer]
