"""A probe that came off: seen once by its sudden way to the room, remembered until it sits again. Pure."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from service.thermal.adrift import adrift

LOOK_BACK_MIN = 90
APART_AGAIN = 0.5
"""Share of the former gap by which probe and room must differ again."""

AIR_MOVED_C = 0.5
FOLLOWS = 0.3
"""A probe in beer does less than this share of what the room's air does within an hour and a half."""


@dataclass(frozen=True, slots=True)
class Off:
    """Since when a probe is off, and how far beer and room were apart before."""

    since: datetime
    gap_c: float
    sentence: str

    def to_json(self) -> dict[str, Any]:
        """As it is remembered."""
        return {"since": self.since.isoformat(), "gap_c": self.gap_c, "sentence": self.sentence}


def off_from(data: Any) -> Off | None:
    """What was remembered."""
    if not data:
        return None
    return Off(datetime.fromisoformat(data["since"]), float(data["gap_c"]), str(data["sentence"]))


def looked_at(
    before: Off | None,
    liquid_c: Sequence[float | None],
    air_c: Sequence[float | None],
    hung_at: datetime | None,
    now: datetime,
    air_by_hand: bool = False,
) -> Off | None:
    """How it stands now. One value a minute, oldest first, ending now. hung_at: last hung or put back.

    air_by_hand: the room is read by a person now and then, so that its steps are no movement of the air.
    """
    if before is not None and hung_at is not None and hung_at > before.since:
        before = None
    if before is None:
        seen = adrift(liquid_c, air_c)
        return None if seen is None else Off(now, seen.gap_c, seen.sentence)
    return None if _sits_again(before, liquid_c, air_c, air_by_hand) else before


def _sits_again(
    off: Off, liquid_c: Sequence[float | None], air_c: Sequence[float | None], air_by_hand: bool
) -> bool:
    pairs = [(p, a) for p, a in zip(liquid_c, air_c, strict=True) if p is not None and a is not None]
    latest = pairs[-5:]
    if len(latest) == 5 and all(abs(p - a) >= APART_AGAIN * off.gap_c for p, a in latest):
        return True
    if air_by_hand or len(pairs) < LOOK_BACK_MIN * 2 // 3:
        return False
    moved = [_spread([a for _, a in pairs]), _spread([p for p, _ in pairs])]
    return moved[0] >= AIR_MOVED_C and moved[1] <= FOLLOWS * moved[0]


def _spread(values: Sequence[float]) -> float:
    """Range of means over five minutes: less moved by single steps than the range itself."""
    means = [sum(values[k : k + 5]) / len(values[k : k + 5]) for k in range(0, len(values), 5)]
    return max(means) - min(means)
