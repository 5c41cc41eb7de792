"""What one type of alarm is: the entry from which rule, message, page and documentation take their words."""

from dataclasses import dataclass

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
class AlarmType:
    """One type of alarm. `title` is a short phrase that follows a vessel's name.

    cause: what must be so for it to be raised. consequence: what follows if nobody answers.
    advice: what to do. helper: one sentence for somebody who knows nothing of brewing.
    respond_within_s: by when an answer still helps. priority: unless the finding gives one;
    priority_rule says in words when it does. after_s, clear_after_s: the delays, unless a stage gives
    others. deadband_c: how far back inside counts as back. cautions: where the work can hurt.
    tells_return: whether a message says that it has passed.
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
