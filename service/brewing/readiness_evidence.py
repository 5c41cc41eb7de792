"""What is known about a batch when the question is whether it may be packaged, and the answer's shape."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from service.brewing.steadiness import DirectReading

STRONG_OG = 1.065
"""Original gravity from which a beer counts as strong; common practice."""
COLD_C = 18.0
"""Mean temperature below which readings must lie further apart, C; common practice."""


class CheckName(StrEnum):
    """Each thing that must be so before a beer is packaged."""

    READINGS_STEADY = "readings-steady"
    READINGS_FAR_ENOUGH_APART = "readings-far-enough-apart"
    NOT_ABOVE_EXPECTED = "not-above-expected"
    NOT_BELOW_EXPECTED = "not-below-expected"
    ESTIMATE_AGREES = "estimate-agrees"
    WARM_ENOUGH_TO_TELL = "warm-enough-to-tell"
    RESTED_WARM = "rested-warm"
    DAYS_SINCE_PITCHING = "days-since-pitching"
    NO_LATE_ADDITION = "no-late-addition"


@dataclass(frozen=True, slots=True)
class BeerTemp:
    """Mean temperature of the beer, C, over about the hour that begins at an aware time."""

    at: datetime
    temp_c: float


@dataclass(frozen=True, slots=True)
class LateAddition:
    """Something put into the beer at an aware time. restarts: false only for what cannot ferment or
    make anything ferment (finings, a little boiled water)."""

    at: datetime
    what: str
    restarts: bool = True


@dataclass(frozen=True, slots=True)
class ReadinessEvidence:
    """All that is known; None where it is not. Times are aware, gravities SG, temperatures C.

    attenuation_low, attenuation_high: the yeast's apparent attenuation as shares. fg_change_pt: what
    additions did to the expected end. verdict: the word of the estimate from heat, with its reason.
    smells_of_butter: the brewer's nose on a warmed sample.
    """

    readings: tuple[DirectReading, ...] = ()
    pitched_at: datetime | None = None
    og: float | None = None
    expected_fg: float | None = None
    attenuation_low: float | None = None
    attenuation_high: float | None = None
    fg_change_pt: float = 0.0
    temps: tuple[BeerTemp, ...] = ()
    yeast_low_c: float | None = None
    additions: tuple[LateAddition, ...] = ()
    verdict: str | None = None
    verdict_because: str = ""
    smells_of_butter: bool | None = None
    mixed_culture: bool = False


@dataclass(frozen=True, slots=True)
class Check:
    """One check: whether it is met, and the evidence in a sentence."""

    name: CheckName
    met: bool
    evidence: str


@dataclass(frozen=True, slots=True)
class NextStep:
    """What to do next and when (aware)."""

    do: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Readiness:
    """May the beer be packaged: only when every check is met."""

    ready: bool
    checks: tuple[Check, ...]
    next: NextStep
    cautions: tuple[str, ...]
