"""What is answered about tasted faults and about bottles that carbonate."""

from pydantic import Field

from service.actions.wire import Answer, Instant
from service.brewing.tasting import Fault


class HoursAnswer(Answer):
    """A stretch of time."""

    from_: Instant = Field(serialization_alias="from")
    to: Instant


class CauseAnswer(Answer):
    """Something in the record that goes with a fault, and when it was so."""

    key: str
    likelihood: str
    sentence: str
    hours: list[HoursAnswer]


class FaultAnswer(Answer):
    """A tasted fault with what could explain it.

    likelihood: ``could well``, ``might``, or that nothing explains it, or that the record cannot tell.
    """

    fault: Fault
    tasted_at: Instant
    likelihood: str
    sentence: str
    causes: list[CauseAnswer]
    unseen: str
    source: str


class SharedCause(Answer):
    """In how many batches with the fault a cause was found, and in how many that were tasted without it."""

    key: str
    with_fault: list[str]
    without_fault: list[str]


class FaultAcross(Answer):
    """A fault across the batches that were tasted, by their ids."""

    fault: Fault
    with_fault: list[str]
    without_fault: list[str]
    causes: list[SharedCause]
    sentence: str


class SpreadAnswer(Answer):
    """A value with its 90 % interval."""

    value: float
    low: float
    high: float


class ConditioningAnswer(Answer):
    """Bottles that carbonate: what they hold, and when one is worth opening. Modelled, not measured."""

    packaged_at: Instant
    warm_days: float
    volumes: SpreadAnswer
    worth_opening_warm_days: SpreadAnswer
    squeezes: int
    sentence: str
    source: str
    limits: str
