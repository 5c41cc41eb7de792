"""What the page of the last part of a batch shows: bottles squeezed and opened, how it tastes, and why."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

FAULTS = (
    ("hot", "Hot, like solvent"),
    ("butter", "Butter"),
    ("green-apple", "Green apple"),
    ("flat", "Flat"),
    ("gushing", "Gushing"),
)
"""The names of faults in the service, and how the page says them."""

LISTS = ("squeezes", "openings", "tastings")


@dataclass(frozen=True, slots=True)
class TastedLine:
    """One thing written down: its number, its time, what it says, and what must be heeded."""

    n: int
    at: datetime
    words: str
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CauseView:
    """Something in the record that goes with a fault, how likely, and when it was so."""

    likelihood: str
    sentence: str
    hours: tuple[tuple[datetime, datetime], ...]


@dataclass(frozen=True, slots=True)
class FaultView:
    """A tasted fault and what the record has to say of it, in this batch and across batches."""

    name: str
    sentence: str
    causes: tuple[CauseView, ...]
    unseen: str
    source: str
    across: str = ""


@dataclass(frozen=True, slots=True)
class TastingView:
    """The page. bottles: what they hold by now in a sentence, empty where that is not known."""

    id: str
    name: str
    squeezes: Sequence[TastedLine] = ()
    openings: Sequence[TastedLine] = ()
    tastings: Sequence[TastedLine] = ()
    faults: Sequence[FaultView] = ()
    bottles: str = ""


def fault_words(name: str) -> str:
    """A fault as the page says it."""
    return dict(FAULTS).get(name, name)
