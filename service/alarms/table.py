"""Every change an alarm can make, as data. `step` and the hands on it look their result up here.

States and transitions follow ANSI/ISA-18.2 and IEC 62682. Nothing latches: a return to normal is
always seen as one, and what wants a hand after it stays returned-unacknowledged.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from service.alarms.model import CoreState


class Event(StrEnum):
    """What can happen to an alarm."""

    RAISED = "raised"
    RAISED_AGAIN = "raised-again"
    ACKNOWLEDGED = "acknowledged"
    RETURNED = "returned"
    PRIORITY_RAISED = "priority-raised"
    PRIORITY_LOWERED = "priority-lowered"
    SHELVED = "shelved"
    UNSHELVED = "unshelved"
    SUPPRESSED = "suppressed"
    UNSUPPRESSED = "unsuppressed"
    OUT_OF_SERVICE = "out-of-service"
    IN_SERVICE = "in-service"


@dataclass(frozen=True, slots=True)
class Row:
    """From one core state to another by one event, and when that happens."""

    before: CoreState
    event: Event
    after: CoreState
    when: str


_NORMAL, _UNACK = CoreState.NORMAL, CoreState.UNACKNOWLEDGED
_ACK, _RTN = CoreState.ACKNOWLEDGED, CoreState.RETURNED_UNACKNOWLEDGED

CORE: tuple[Row, ...] = (
    Row(_NORMAL, Event.RAISED, _UNACK, "The cause has lasted for the delay; a new alarm begins."),
    Row(_UNACK, Event.ACKNOWLEDGED, _ACK, "A person says: seen."),
    Row(_UNACK, Event.RETURNED, _RTN, "The cause has been gone for the return delay."),
    Row(_ACK, Event.RETURNED, _NORMAL, "The cause has been gone for the return delay; the alarm ends."),
    Row(_RTN, Event.ACKNOWLEDGED, _NORMAL, "A person says: seen; the alarm ends."),
    Row(
        _RTN, Event.RAISED_AGAIN, _UNACK, "The cause has come back and lasted for the delay; the same alarm."
    ),
    Row(_UNACK, Event.PRIORITY_RAISED, _UNACK, "The same cause now weighs more."),
    Row(
        _ACK,
        Event.PRIORITY_RAISED,
        _ACK,
        "The same cause now weighs more; it stays acknowledged and speaks once.",
    ),
    Row(_UNACK, Event.PRIORITY_LOWERED, _UNACK, "The same cause now weighs less."),
    Row(_ACK, Event.PRIORITY_LOWERED, _ACK, "The same cause now weighs less."),
)

FLAGS: Mapping[Event, str] = MappingProxyType(
    {
        Event.SHELVED: "A person silences it until a time, with a reason. It stays listed, and always ends.",
        Event.UNSHELVED: "The time has come, or a person ends it.",
        Event.SUPPRESSED: "By design, with its cause: prevents new alarms, never hides one that stands.",
        Event.UNSUPPRESSED: "The cause of the suppression is over; delays begin anew.",
        Event.OUT_OF_SERVICE: "A person takes it out of service, with a reason: no new alarms, no messages.",
        Event.IN_SERVICE: "A person puts it back into service; delays begin anew.",
    }
)
"""Flags stand beside the core state and leave it as it is, whichever it is."""

TABLE: tuple[Row, ...] = CORE + tuple(
    Row(state, event, state, when) for event, when in FLAGS.items() for state in CoreState
)
"""Every transition there is."""

_AFTER: Mapping[tuple[CoreState, Event], CoreState] = {(row.before, row.event): row.after for row in TABLE}


def after(before: CoreState, event: Event) -> CoreState:
    """The core state that `event` leads to. KeyError when the table has no such row."""
    return _AFTER[before, event]


def table_as_markdown() -> str:
    """The table as documentation: core states first, then the flags."""
    lines = ["| from | event | to | when |", "|---|---|---|---|"]
    lines += [f"| {row.before} | {row.event} | {row.after} | {row.when} |" for row in CORE]
    lines += [f"| any | {event} | unchanged | {when} |" for event, when in FLAGS.items()]
    return "\n".join(lines) + "\n"
