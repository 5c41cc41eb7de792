"""What one type of alarm is: the entry from which rule, message, page and documentation take their words."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from service.alarms.model import Priority

MINUTE = 60.0
HOUR = 3600.0
DAY = 86400.0

HOT_LIQUID = (
    "Hot wort burns and boils over: stay with the kettle, and keep children and animals away from it."
)
BOTTLES = (
    "Warm or over-primed glass bottles can burst: do not handle them warm. Cover the crate, let it cool"
    " where it stands if it can, and wear face and hand protection when you come near."
)
GAS = (
    "Carbon dioxide gathers in cupboards, fridges and low rooms: open the door and air it before you lean in."
)
MAINS = (
    "Keep mains equipment and its leads dry. Repairs to it are for a qualified person, by your local codes."
)


@dataclass(frozen=True, slots=True)
class Words:
    """What an alarm says: the members of an `AlarmType` of the same names."""

    consequence: str
    advice: str
    helper: str
    respond_within_s: float
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class AlarmType:
    """One type of alarm. `title` is a short phrase that follows a vessel's name.

    cause: what must be so for it to be raised. consequence: what follows if nobody answers.
    advice: what to do. helper: one sentence for somebody who knows nothing of brewing.
    respond_within_s: by when an answer still helps. priority: unless the finding gives one;
    priority_rule says in words when it does. after_s, clear_after_s: the delays, unless a stage gives
    others. deadband_c: how far back inside counts as back. cautions: where the work can hurt.
    tells_return: whether a message says that it has passed. in_stages: what it says instead in stages of
    certain kinds, by the kind's word.
    """

    key: str
    title: str
    cause: str
    consequence: str
    advice: str
    helper: str
    respond_within_s: float
    priority: Priority
    after_s: float
    clear_after_s: float
    deadband_c: float | None = None
    cautions: tuple[str, ...] = ()
    priority_rule: str = ""
    tells_return: bool = True
    in_stages: Mapping[str, Words] = field(default_factory=dict)

    def words_in(self, stage_kind: str | None) -> Words:
        """What it says in a stage of this kind; None: not known, or none."""
        own = Words(self.consequence, self.advice, self.helper, self.respond_within_s, self.cautions)
        return self.in_stages.get(stage_kind or "", own)
