"""How much a stray weighs, by the kind of stage and how far the fermentation has come.

Warmth in the first two or three days shapes the flavour most (common practice).
"""

from collections.abc import Mapping

from service.alarms.model import Priority
from service.alarms.rules.band import Side

EARLY_SHARE = 1 / 3
EARLY_H = 72.0
NEARLY_DONE_SHARE = 0.9

_LOW, _MEDIUM, _HIGH = Priority.LOW, Priority.MEDIUM, Priority.HIGH
BY_KIND: Mapping[str, tuple[Priority | None, Priority | None]] = {
    "mash": (_MEDIUM, _MEDIUM),
    "boil": (None, _MEDIUM),
    "steep": (_LOW, _LOW),
    "chill": (None, None),
    "stand": (None, None),
    "hold": (None, None),
    "rest": (_LOW, _MEDIUM),
    "crash": (_LOW, _HIGH),
    "condition": (_MEDIUM, _LOW),
}
"""Priority when too warm and when too cold; None: no such alarm. `primary` goes by phase."""


def phase_priority(
    kind: str, side: Side, share_fermented: float | None, hours_since_pitching: float | None
) -> Priority | None:
    """The priority of a stray in a stage of this kind, or None when it has no such alarm.

    share_fermented: 0 to 1, None while there is no estimate. hours_since_pitching: None before it.
    Raises KeyError for a kind that does not exist.
    """
    if kind != "primary":
        warm, cold = BY_KIND[kind]
        return warm if side is Side.WARM else cold
    if side is Side.COLD:
        done = share_fermented is not None and share_fermented >= NEARLY_DONE_SHARE
        return Priority.LOW if done else Priority.MEDIUM
    past_a_third = share_fermented is not None and share_fermented >= EARLY_SHARE
    past_three_days = hours_since_pitching is not None and hours_since_pitching >= EARLY_H
    return Priority.LOW if past_a_third or past_three_days else Priority.HIGH
