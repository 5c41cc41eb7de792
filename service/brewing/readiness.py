"""May this beer be packaged? Only direct measurement can say yes; heat alone never does."""

from dataclasses import replace
from datetime import datetime, timedelta

from service.brewing.expected_end import expected_end
from service.brewing.readiness_checks import (
    ADDITION_WAIT,
    LOW_BUT_STEADY,
    REST_HOURS,
    STEADY_POINTS,
    UNKNOWN_TEMP_C,
    Situation,
    all_checks,
    mean_c,
    rest_c,
    warm_c,
)
from service.brewing.readiness_evidence import (
    Check,
    CheckName,
    LateAddition,
    NextStep,
    Readiness,
    ReadinessEvidence,
)
from service.brewing.readings import ReadingKind
from service.brewing.safety import BOTTLE_CAUTIONS
from service.brewing.steadiness import DirectReading, contradicted, span_needed, steadiness
from service.errors import InvalidInputError, Problem

READING_NEAR = timedelta(hours=2)
"""How close in time a temperature must be to tell how warm the beer was at a reading."""
RECENT = timedelta(days=3)


def readiness(evidence: ReadinessEvidence, at: datetime) -> Readiness:
    """Judges every check from what was known at `at` (aware), and says what to do next and when.

    Evidence with a later time is left out. Raises InvalidInputError for a naive time.
    """
    if at.utcoffset() is None:
        raise InvalidInputError(Problem("/at", "The time has no offset.", "Give it with Z or +hh:mm."))
    situation = _situation(evidence, at)
    checks = all_checks(situation)
    ready = all(check.met for check in checks)
    return Readiness(ready, checks, _next_step(situation, checks), _cautions(situation, checks))


def _situation(evidence: ReadinessEvidence, at: datetime) -> Situation:
    known = replace(
        evidence,
        readings=tuple(r for r in evidence.readings if r.at <= at),
        temps=tuple(t for t in evidence.temps if t.at <= at),
        additions=tuple(a for a in evidence.additions if a.at <= at),
    )
    last_addition = _last_restart(known.additions)
    readings = tuple(r for r in known.readings if last_addition is None or r.at > last_addition.at)
    # What was measured in the cold says nothing of a pause; judge by the warm readings where they suffice.
    warm = tuple(r for r in readings if not _taken_cold(r, known))
    judged = warm if steadiness(warm, UNKNOWN_TEMP_C) is not None else readings
    first = steadiness(judged, UNKNOWN_TEMP_C)
    between = tuple(t for t in known.temps if first is not None and first.first_at <= t.at <= first.last_at)
    temp_c = mean_c(between) if between else UNKNOWN_TEMP_C
    steady = steadiness(judged, temp_c)
    end = expected_end(
        readings,
        og=known.og,
        expected_fg=known.expected_fg,
        attenuation_low=known.attenuation_low,
        attenuation_high=known.attenuation_high,
        change_pt=known.fg_change_pt,
    )
    return Situation(
        evidence=known,
        at=at,
        readings=readings,
        steady=steady,
        rival=contradicted(steady, judged, temp_c) if steady is not None else None,
        between=between,
        recent=tuple(t for t in known.temps if at - t.at <= RECENT),
        end=end,
        last_addition=last_addition,
    )


def _taken_cold(reading: DirectReading, evidence: ReadinessEvidence) -> bool:
    """True when the beer was below its yeast's range at the reading; false also when it is not known."""
    near = [t for t in evidence.temps if abs(t.at - reading.at) <= READING_NEAR]
    return bool(near) and mean_c(near) < warm_c(evidence)


def _last_restart(additions: tuple[LateAddition, ...]) -> LateAddition | None:
    return max((a for a in additions if a.restarts), key=lambda a: a.at, default=None)


def _next_step(s: Situation, checks: tuple[Check, ...]) -> NextStep:
    """The first thing that stands in the way, most basic first."""
    unmet = {check.name for check in checks if not check.met}
    day = timedelta(days=1)
    if not unmet:
        return NextStep("Package it, or chill it first: a cold day or two, then bottle or keg.", s.at)
    if s.evidence.pitched_at is None:
        return NextStep("Note when the yeast was pitched.", s.at)
    if CheckName.WARM_ENOUGH_TO_TELL in unmet and s.temp_c < warm_c(s.evidence):
        return NextStep(
            "Bring it to 18 to 20 C, or to the middle of its yeast's range, and take two readings there: "
            "cold yeast only pauses.",
            s.at + day,
        )
    if CheckName.DAYS_SINCE_PITCHING in unmet:
        due = s.evidence.pitched_at + s.days_needed * day
        return NextStep("Leave it alone until then, and measure.", max(s.at, due))
    if CheckName.NO_LATE_ADDITION in unmet and s.last_addition is not None:
        due = s.last_addition.at + ADDITION_WAIT
        return NextStep(f"Wait until what {s.last_addition.what} brought has fermented, then measure.", due)
    if CheckName.ESTIMATE_AGREES in unmet:
        return NextStep("It is not at rest by its heat: look at the evidence and measure.", s.at + day)
    measuring = _measuring_step(s, unmet)
    if measuring is not None:
        return measuring
    if CheckName.NOT_ABOVE_EXPECTED in unmet:
        if s.end is None:
            return NextStep(
                "Say where this beer should end, or ferment a small sample out warm in a limit jar.", s.at
            )
        return NextStep(
            "It stands above its end: warm it to 20 C, swirl the yeast up and measure again.", s.at + 3 * day
        )
    if CheckName.NOT_BELOW_EXPECTED in unmet:
        return NextStep(
            "Wait and measure again: bottle only when it has stood still for "
            f"{LOW_BUT_STEADY.days} days at this low gravity.",
            s.at + 14 * day,
        )
    hours = timedelta(hours=REST_HOURS)
    return NextStep(
        f"Keep it at {rest_c(s.evidence):.0f} C or a little above for {REST_HOURS} h, "
        "then smell a warmed sample.",
        s.at + hours,
    )


def _measuring_step(s: Situation, unmet: set[CheckName]) -> NextStep | None:
    direct = sorted((r for r in s.readings if r.by is not ReadingKind.LIMIT_JAR), key=lambda r: r.at)
    if not direct:
        return NextStep("Take a hydrometer reading of a degassed sample.", s.at)
    if s.hydrometer is None:
        return NextStep("Take one hydrometer reading: only it proves the value.", s.at)
    if CheckName.READINGS_STEADY in unmet or CheckName.READINGS_FAR_ENOUGH_APART in unmet:
        steady = s.steady is not None and CheckName.READINGS_STEADY not in unmet
        begins = s.steady.first_at if steady and s.steady is not None else direct[-1].at
        wait = max(s.apart, span_needed(s.temp_c, STEADY_POINTS))
        return NextStep("Take another hydrometer reading of a degassed sample.", max(s.at, begins + wait))
    if CheckName.WARM_ENOUGH_TO_TELL in unmet:
        return NextStep("Note the beer's temperature, then take two readings.", s.at)
    return None


def _cautions(s: Situation, checks: tuple[Check, ...]) -> tuple[str, ...]:
    met = {check.name: check.met for check in checks}
    said = ["Fermentation is proved over by direct readings only; heat and airlock prove nothing."]
    if s.evidence.mixed_culture:
        said.append(
            "A mixed culture ferments for months: readings a month apart, heavy bottles, low carbonation."
        )
    if s.hydrometer is not None and s.end is not None and not met[CheckName.NOT_BELOW_EXPECTED]:
        said.append("Below its expected end a beer may go on in the bottle for weeks: never bottle it now.")
    if s.strong:
        said.append("A strong beer ends slowly: give it the longer times.")
    if any("hop" in a.what.lower() for a in s.evidence.additions):
        said.append("Dry hops can bring 1 to 3 points more of fermentation (common practice).")
    if s.evidence.smells_of_butter is None:
        said.append(
            "Before the cold, warm a sample in a closed glass and smell it: butter wants more warm days."
        )
    return (*said, *BOTTLE_CAUTIONS)
