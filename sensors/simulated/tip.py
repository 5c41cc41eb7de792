"""Where the tip of a probe hangs, and how well it follows what is there."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated

from sensors.simulated.limits import Between, Seconds, Share


class Where(StrEnum):
    """Where the tip of a probe is."""

    TOP = "top"
    MIDDLE = "middle"
    BOTTOM = "bottom"
    WALL = "wall"
    AIR = "air"


@dataclass(frozen=True, slots=True)
class Tip:
    """The tip of a probe: where it sits, how slowly it follows, how much of the air it feels besides, and
    the part's own error."""

    at: Where
    lag_s: Seconds = 60.0
    air_share: Share = 0.0
    offset_c: Annotated[float, Between(-5.0, 5.0, "C")] = 0.0


IN_THE_BEER = Tip(Where.MIDDLE, lag_s=90.0, air_share=0.015)
IN_THE_AIR = Tip(Where.AIR, lag_s=180.0)
