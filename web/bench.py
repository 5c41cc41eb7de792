"""What a batch's own record looks like on its page: what was written down, and whether it may be packaged."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Protocol

from service.brewing.sugars import Sugar

LISTS = ("readings", "sightings", "additions", "packagings", "notes")
KINDS = (
    ("hydrometer", "hydrometer"),
    ("refractometer", "refractometer"),
    ("weight", "weight of the whole fermenter"),
    ("limit-jar", "limit jar, by hydrometer"),
)
SIGHTS = (
    ("foam-up", "Foam is up"),
    ("foam-fallen", "Foam has fallen"),
    ("airlock-busy", "Airlock busy"),
    ("airlock-still", "Airlock still"),
    ("clear", "It is clear"),
    ("skin", "A skin on it"),
    ("smells-of-butter", "Smells of butter"),
    ("smells-clean", "Smells clean"),
)
PACKAGES = (("bottle", "bottles"), ("keg", "kegs"))
SUGARS = (("", "none"), *((sugar.value, sugar.value.replace("-", " ")) for sugar in Sugar))
CHECKS: Mapping[str, str] = {
    "readings-steady": "Readings stand still",
    "readings-far-enough-apart": "Readings far enough apart",
    "not-above-expected": "Not above its expected end",
    "not-below-expected": "Not below its expected end",
    "estimate-agrees": "Its heat does not contradict",
    "warm-enough-to-tell": "Warm enough to tell",
    "rested-warm": "Rested warm, and smelled",
    "days-since-pitching": "Enough days since pitching",
    "no-late-addition": "No late addition still at work",
}


@dataclass(frozen=True, slots=True)
class EntryView:
    """Something written down: its number in its list, its time, and the words.

    gravity, low, high: SG with its 90 % interval, for a reading that stands for one.
    """

    n: int
    at: datetime
    words: str
    gravity: float | None = None
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class CheckView:
    """One check before packaging: its name in words, whether it is met, the evidence in a sentence."""

    words: str
    met: bool
    evidence: str


@dataclass(frozen=True, slots=True)
class ReadinessView:
    """May it be packaged: every check, then what to do next and when."""

    ready: bool
    checks: tuple[CheckView, ...]
    next_words: str
    next_at: datetime
    cautions: tuple[str, ...] = ()

    @property
    def met(self) -> int:
        """How many checks are met."""
        return sum(check.met for check in self.checks)


@dataclass(frozen=True, slots=True)
class BenchView:
    """A batch's record. entries: by list name, newest first. readiness: None while nobody would ask."""

    readiness: ReadinessView | None = None
    entries: Mapping[str, Sequence[EntryView]] = field(default_factory=dict)

    def listed(self, name: str) -> Sequence[EntryView]:
        """The entries of one list, newest first."""
        return self.entries.get(name, ())


class BenchHouse(Protocol):
    """What the record of a batch needs."""

    def bench(self, batch_id: str) -> BenchView:
        """What was written down, and the readiness. NotFoundError."""
        ...

    def write_down(self, batch_id: str, name: str, by: str, fields: Mapping[str, Any]) -> None:
        """Adds an entry to one of the lists. InvalidInputError, NotFoundError."""
        ...

    def entry(self, batch_id: str, name: str, n: int) -> Mapping[str, Any]:
        """One entry in the shape of the HTTP contract. NotFoundError."""
        ...

    def put_right(self, batch_id: str, name: str, n: int, by: str, fields: Mapping[str, Any]) -> None:
        """Replaces what an entry holds; what is left out is cleared. InvalidInputError, NotFoundError."""
        ...

    def strike_out(self, batch_id: str, name: str, n: int, by: str) -> None:
        """Takes an entry out. NotFoundError."""
        ...

    def prime(self, batch_id: str, fields: Mapping[str, Any]) -> Mapping[str, Any]:
        """The priming of this batch, with what the batch knows filled in. InvalidInputError."""
        ...
