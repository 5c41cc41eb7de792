"""The probe: a tip that follows slowly, and a part that gives sixteenths of a degree.

Figures of the DS18B20 are from its datasheet.
"""

from functools import lru_cache
from math import exp, floor

from sensors.scratchpad import crc8

STEPS_PER_C = 16
"""At 12 bits a step is 0.0625 C."""

CONVERSION_S = 0.75
"""The longest conversion at 12 bits."""


class FollowingTip:
    """A tip that approaches what surrounds it with one time constant."""

    def __init__(self, begins_c: float) -> None:
        self.temp_c = begins_c

    def ahead(self, before_c: float, after_c: float, step_s: float, lag_s: float) -> float:
        """The tip after a step in which its surroundings went evenly from `before_c` to `after_c`."""
        if lag_s <= 0.0:
            self.temp_c = after_c
            return after_c
        kept = exp(-step_s / lag_s)
        behind = (after_c - before_c) * lag_s / step_s * (1.0 - kept)
        self.temp_c = after_c - behind + (self.temp_c - before_c) * kept
        return self.temp_c


def register_of(temp_c: float) -> int:
    """The two temperature bytes as a signed number of sixteenths, kept within the part's 16 bits."""
    return max(-0x8000, min(0x7FFF, floor(temp_c * STEPS_PER_C + 0.5)))


@lru_cache(maxsize=8192)
def scratchpad_of(register: int) -> bytes:
    """The nine bytes that a part at 12 bits holds for a register value, its CRC included."""
    first = (register & 0xFFFF).to_bytes(2, "little") + bytes(
        (0x4B, 0x46, 0x7F, 0xFF, 0x10 - register % 16, 0x10)
    )
    return first + bytes((crc8(first),))
