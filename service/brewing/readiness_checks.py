"""The checks before packaging, each a judgement of the evidence with its reason in a sentence."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from service.brewing.expected_end import ExpectedEnd
from service.brewing.readiness_evidence import (
    COLD_C,
    STRONG_OG,
    BeerTemp,
    Check,
    CheckName,
    LateAddition,
    ReadinessEvidence,
)
from service.brewing.readings import ReadingKind
from service.brewing.steadiness import DirectReading, Steadiness

STEADY_POINTS = 1.7
"""Most points that may still come: 0.85 volume, which beer primed to 2.1 volumes takes below 3.0."""
FELL_SINCE_PT = 2.0
"""A later reading so much lower, points, is no error of two readings any more (90 %: 1.6)."""
APART = timedelta(hours=48)
APART_COLD_OR_STRONG = timedelta(hours=72)
APART_MIXED = timedelta(days=30)
ADDITION_WAIT = timedelta(hours=72)
DAYS_USUAL, DAYS_COLD_OR_STRONG, DAYS_MIXED = 7, 14, 90
LOW_BUT_STEADY = timedelta(days=21)
WARM_C = 16.0
UNKNOWN_TEMP_C = 16.0
"""Temperature taken for the pace of a dying fermentation where none is known, C: slow, to be safe."""
REST_C, LAGER_REST_C, LAGER_YEAST_C = 18.0, 14.0, 12.0
REST_HOURS = 48
STILL_AT_WORK = {
    "working": "it still ferments",
    "slowing": "it is slowing, not over",
    "not-started": "it has not begun",
    "possibly-stopped": "it may have stopped early",
    "stopped-early": "it stopped early",
}
SAYS_OVER = ("ended", "finished")


@dataclass(frozen=True, slots=True)
class Situation:
    """The evidence up to now, with what several checks need worked out once.

    readings: since the last addition that restarts. steady: the run judged; rival: a kind that
    contradicts it. between: temperatures over the run. recent: those of the last days.
    """

    evidence: ReadinessEvidence
    at: datetime
    readings: tuple[DirectReading, ...]
    steady: Steadiness | None
    rival: Steadiness | None
    between: tuple[BeerTemp, ...]
    recent: tuple[BeerTemp, ...]
    end: ExpectedEnd | None
    last_addition: LateAddition | None

    @property
    def temp_c(self) -> float:
        """Mean temperature of the beer over the run judged, or lately, C; a slow one where none is known."""
        temps = self.between or self.recent
        return mean_c(temps) if temps else UNKNOWN_TEMP_C

    @property
    def cold(self) -> bool:
        return self.temp_c < COLD_C

    @property
    def strong(self) -> bool:
        return self.evidence.og is not None and self.evidence.og >= STRONG_OG

    @property
    def reason(self) -> str:
        """Why longer times than usual are asked, or nothing."""
        if self.evidence.mixed_culture:
            return "mixed culture"
        return "cold" if self.cold else "strong" if self.strong else ""

    @property
    def apart(self) -> timedelta:
        if self.evidence.mixed_culture:
            return APART_MIXED
        return APART_COLD_OR_STRONG if self.reason else APART

    @property
    def days_needed(self) -> int:
        if self.evidence.mixed_culture:
            return DAYS_MIXED
        return DAYS_COLD_OR_STRONG if self.reason else DAYS_USUAL

    @property
    def hydrometer(self) -> DirectReading | None:
        own = [r for r in self.readings if r.by is ReadingKind.HYDROMETER]
        return max(own, key=lambda r: r.at, default=None)


def all_checks(s: Situation) -> tuple[Check, ...]:
    """Every check once, in the order in which they are listed."""
    return (
        _steady(s),
        _far_enough(s),
        _not_above(s),
        _not_below(s),
        _estimate(s),
        _warm_enough(s),
        _rested(s),
        _days(s),
        _addition(s),
    )


def mean_c(temps: Sequence[BeerTemp]) -> float:
    """Mean of some temperatures, C."""
    return sum(t.temp_c for t in temps) / len(temps)


def _steady(s: Situation) -> Check:
    name = CheckName.READINGS_STEADY
    if s.steady is None:
        count = len([r for r in s.readings if r.by is not ReadingKind.LIMIT_JAR])
        since = f" since {s.last_addition.what} was added" if s.last_addition else ""
        told = {0: "No direct reading", 1: "One direct reading"}.get(count, f"{count} direct readings")
        return Check(name, False, f"{told}{since}; two of one kind are needed.")
    if s.rival is not None:
        return Check(
            name,
            False,
            f"By {s.rival.by} it fell by at least {s.rival.rate_low:.1f} points a day, which the "
            f"{s.steady.by} does not show.",
        )
    run = s.steady
    if s.hydrometer is not None and s.hydrometer.sg < run.last_sg - FELL_SINCE_PT / 1000:
        return Check(
            name, False, f"It has fallen to {s.hydrometer.sg:.4f} since it stood at {run.last_sg:.4f}."
        )
    return Check(
        name,
        run.points_to_come <= STEADY_POINTS,
        f"{run.count} readings by {run.by} allow a fall of up to {run.rate_high:.1f} points a day; over the "
        f"{run.days_that_matter:.1f} days that matter that is {run.points_to_come:.1f} points, "
        f"of {STEADY_POINTS} allowed.",
    )


def _far_enough(s: Situation) -> Check:
    wanted_h = s.apart.total_seconds() / 3600
    why = f" ({s.reason})" if s.reason else ""
    if s.steady is None:
        return Check(
            CheckName.READINGS_FAR_ENOUGH_APART,
            False,
            f"Two readings {wanted_h:.0f} h apart are needed{why}.",
        )
    span_h = s.steady.span.total_seconds() / 3600
    return Check(
        CheckName.READINGS_FAR_ENOUGH_APART,
        s.steady.span >= s.apart,
        f"The readings span {span_h:.0f} h of {wanted_h:.0f} h{why}.",
    )


def _value_and_end(s: Situation) -> tuple[float, ExpectedEnd] | str:
    """The proven gravity and the end it is held against, or why there are not both."""
    if s.hydrometer is None:
        return "No hydrometer reading; only it proves the value."
    if s.steady is not None and s.hydrometer.at < s.steady.first_at - timedelta(hours=24):
        return "No hydrometer reading since it became steady; only it proves the value."
    if s.end is None:
        return "Nobody has said where this beer should end."
    return s.hydrometer.sg, s.end


def _not_above(s: Situation) -> Check:
    name, known = CheckName.NOT_ABOVE_EXPECTED, _value_and_end(s)
    if isinstance(known, str):
        return Check(name, False, known)
    sg, end = known
    return Check(name, sg <= end.high, f"{sg:.4f}, at most {end.high:.4f}: {end.says}.")


def _not_below(s: Situation) -> Check:
    name, known = CheckName.NOT_BELOW_EXPECTED, _value_and_end(s)
    if isinstance(known, str):
        return Check(name, False, known)
    sg, end = known
    if sg >= end.low:
        return Check(name, True, f"{sg:.4f}, at least {end.low:.4f}: {end.says}.")
    if s.steady is not None and s.steady.span >= LOW_BUT_STEADY and s.steady.points_to_come <= STEADY_POINTS:
        days = s.steady.span.days
        return Check(name, True, f"{sg:.4f} is below {end.low:.4f}, but steady for {days} days.")
    return Check(
        name,
        False,
        f"{sg:.4f} is below {end.low:.4f}: {end.says}. Wild or starch-splitting yeast goes on for weeks.",
    )


def _estimate(s: Situation) -> Check:
    name, verdict = CheckName.ESTIMATE_AGREES, s.evidence.verdict
    because = f" ({s.evidence.verdict_because})" if s.evidence.verdict_because else ""
    if verdict in STILL_AT_WORK:
        return Check(name, False, f"By its heat {STILL_AT_WORK[verdict]}{because}.")
    if verdict in SAYS_OVER:
        return Check(name, True, f"By its heat the activity has ended{because}.")
    return Check(name, True, f"The heat cannot tell{because}: the readings alone decide.")


def warm_c(evidence: ReadinessEvidence) -> float:
    """Temperature, C, below which this yeast only pauses."""
    return evidence.yeast_low_c if evidence.yeast_low_c is not None else WARM_C


def _warm_enough(s: Situation) -> Check:
    name = CheckName.WARM_ENOUGH_TO_TELL
    least_c = warm_c(s.evidence)
    if s.steady is None:
        return Check(name, False, "There are no two readings yet to know the temperature between.")
    if not s.between:
        return Check(name, False, "No temperature is known between the readings.")
    warm = sum(t.temp_c >= least_c for t in s.between) / len(s.between)
    return Check(
        name,
        warm >= 0.8,
        f"{100 * warm:.0f} % of the time between the readings at or above {least_c:.1f} C, "
        f"{s.temp_c:.1f} C on average; cold yeast only pauses.",
    )


def rest_c(evidence: ReadinessEvidence) -> float:
    """Temperature, C, at or above which time counts as a warm rest for this yeast."""
    lager = evidence.yeast_low_c is not None and evidence.yeast_low_c < LAGER_YEAST_C
    return LAGER_REST_C if lager else REST_C


def _rested(s: Situation) -> Check:
    name, e = CheckName.RESTED_WARM, s.evidence
    if e.smells_of_butter:
        return Check(name, False, "A warmed sample smells of butter: the yeast has not cleaned up yet.")
    if e.smells_of_butter is False:
        return Check(name, True, "A warmed sample does not smell of butter.")
    if e.pitched_at is None or not e.temps:
        return Check(name, False, "Neither a warm rest nor a smell test is known.")
    late = e.pitched_at + timedelta(hours=72)
    hours = sum(1 for t in e.temps if late <= t.at <= s.at and t.temp_c >= rest_c(e))
    return Check(
        name,
        hours >= REST_HOURS,
        f"{hours} h at or above {rest_c(e):.0f} C after the third day, of {REST_HOURS} h; no smell test.",
    )


def _days(s: Situation) -> Check:
    name = CheckName.DAYS_SINCE_PITCHING
    if s.evidence.pitched_at is None:
        return Check(name, False, "It is not known when the yeast was pitched.")
    days = (s.at - s.evidence.pitched_at).total_seconds() / 86400
    return Check(name, days >= s.days_needed, f"{days:.1f} days since pitching, of {s.days_needed}.")


def _addition(s: Situation) -> Check:
    name = CheckName.NO_LATE_ADDITION
    if s.last_addition is None:
        return Check(name, True, "Nothing was added that could ferment.")
    ago = s.at - s.last_addition.at
    days = ago.total_seconds() / 86400
    return Check(name, ago >= ADDITION_WAIT, f"{s.last_addition.what} was added {days:.1f} days ago.")
