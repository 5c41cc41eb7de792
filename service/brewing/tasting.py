"""A fault in the glass, and what in the batch's own record could explain it, in words of likelihood.

Taste proves nothing about its cause: several causes make the same fault, and some leave no trace that a
probe could see. So a cause is named with the hours and figures it stands on, never as the finding. Which
causes belong to which fault, and every threshold, is common practice (from memory), marked so in `source`.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum
from types import MappingProxyType

from service.brewing.readiness_evidence import BeerTemp, LateAddition

SOURCE = "common practice, from memory: which causes go with a fault, and where their limits lie"


class Fault(StrEnum):
    """What is wrong with the beer, as a brewer would say it."""

    HOT = "hot"
    """Hot, solvent-like: higher alcohols and esters."""
    BUTTER = "butter"
    GREEN_APPLE = "green-apple"
    FLAT = "flat"
    GUSHING = "gushing"


class Likelihood(StrEnum):
    """How well a cause would explain a fault."""

    COULD_WELL = "could well"
    MIGHT = "might"
    NOTHING = "nothing in the record explains it"
    UNKNOWN = "the record cannot tell"


@dataclass(frozen=True, slots=True)
class Stretch:
    """A stretch of time; aware UTC."""

    from_at: datetime
    to_at: datetime


@dataclass(frozen=True, slots=True)
class Cause:
    """Something in the record that goes with a fault. key: the same for every batch it is found in.

    hours: when it was so, oldest first; empty for what is no matter of hours.
    """

    key: str
    likelihood: Likelihood
    sentence: str
    hours: tuple[Stretch, ...] = ()


@dataclass(frozen=True, slots=True)
class Explanation:
    """What could explain a fault: its causes, the likeliest first; `likelihood` is that of the first."""

    fault: Fault
    likelihood: Likelihood
    sentence: str
    causes: tuple[Cause, ...]
    unseen: str
    source: str = SOURCE


@dataclass(frozen=True, slots=True)
class TastingEvidence:
    """What the record has of a batch when a fault is tasted; None: not known. C, SG, aware UTC.

    beer: its hours from pitching until packaging. progress: share fermented at 0, 1, 2 ... hours from
    pitching, estimated. most_c: what this fermentation should have stayed below. cold_at: when the cold was
    begun. bottles: the packages' hours since. sugar_g_per_l: 0 where packaged without. steady: whether the
    readings had stood still at packaging. above_end_pt, below_end_pt: how far the last reading lay outside
    the expected end. fell_pt: by how much the gravity of an opened bottle lay below the last one before,
    surely (the low end of its interval). butter_smelled_at: last time before packaging, when not clean since.
    """

    pitched_at: datetime | None = None
    packaged_at: datetime | None = None
    tasted_at: datetime | None = None
    beer: Sequence[BeerTemp] = ()
    progress: Sequence[float] = ()
    most_c: float | None = None
    most_says: str = ""
    cold_at: datetime | None = None
    bottles: Sequence[BeerTemp] = ()
    warm_days: float | None = None
    sugar_g_per_l: float | None = None
    steady: bool | None = None
    above_end_pt: float | None = None
    below_end_pt: float | None = None
    fell_pt: float | None = None
    butter_smelled_at: datetime | None = None
    additions: Sequence[LateAddition] = ()
    mixed_culture: bool = False
    kegged: bool = False


Looker = Callable[[TastingEvidence], Cause | None]
"""A rule: the cause it found or could not look for; None: it looked and there is nothing of it."""

UNSEEN: Mapping[Fault, str] = MappingProxyType(
    {
        Fault.HOT: "Too little yeast or air at pitching, or the strain, leaves no trace in temperatures.",
        Fault.BUTTER: "An infection also tastes of butter, mostly with sourness; no probe sees that.",
        Fault.GREEN_APPLE: "Air taken up at bottling and weak yeast also do it; no probe sees that.",
        Fault.FLAT: "A cap that leaks or a bottle left out of the sugar is not in the record: open another.",
        Fault.GUSHING: "If only some bottles gush, think of those bottles: no record sees dirt in them.",
    }
)

_ORDER = (Likelihood.COULD_WELL, Likelihood.MIGHT, Likelihood.UNKNOWN, Likelihood.NOTHING)


def explained(fault: Fault, lookers: Sequence[Looker], evidence: TastingEvidence) -> Explanation:
    """What could explain a fault, looked for by these rules."""
    found = [cause for look in lookers if (cause := look(evidence)) is not None]
    causes = tuple(sorted(found, key=lambda cause: _ORDER.index(cause.likelihood)))
    likelihood = causes[0].likelihood if causes else Likelihood.NOTHING
    named = [c for c in causes if c.likelihood in (Likelihood.COULD_WELL, Likelihood.MIGHT)]
    if named:
        sentence = f"{named[0].sentence} That {likelihood.value} explain it."
        if len(named) > 1:
            sentence += f" {len(named) - 1} more in the record {'goes' if len(named) == 2 else 'go'} with it."
    elif likelihood is Likelihood.UNKNOWN:
        sentence = "The record cannot tell: " + " ".join(cause.sentence for cause in causes)
    else:
        sentence = "Nothing in the record explains it."
    return Explanation(fault, likelihood, sentence, causes, UNSEEN[fault])


def runs(hours: Sequence[BeerTemp]) -> tuple[Stretch, ...]:
    """Hours joined to stretches, oldest first."""
    found: list[Stretch] = []
    for hour in sorted(hours, key=lambda h: h.at):
        ends = hour.at + timedelta(hours=1)
        if found and hour.at <= found[-1].to_at:
            found[-1] = Stretch(found[-1].from_at, max(found[-1].to_at, ends))
        else:
            found.append(Stretch(hour.at, ends))
    return tuple(found)


def unknown(key: str, why: str) -> Cause:
    """The answer of a rule that lacks what it needs."""
    return Cause(key, Likelihood.UNKNOWN, why[0].upper() + why[1:])
