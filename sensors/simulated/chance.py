"""Chance that can be asked again: every draw is a pure function of a seed, a name and a number.

A generator with a state would give other values when it is asked in another order.
"""

import hashlib
from math import sqrt

_MASK = (1 << 64) - 1
_GOLDEN = 0x9E3779B97F4A7C15  # 2^64 over the golden ratio: the step of splitmix64
_SD_OF_FOUR = sqrt(4 / 12)


def stream(seed: int, name: str) -> int:
    """A 64-bit number that stands for one named stream of draws under this seed."""
    digest = hashlib.blake2b(f"{seed}/{name}".encode(), digest_size=8).digest()
    return int.from_bytes(digest, "big")


def unit(key: int, index: int) -> float:
    """The draw number `index` of a stream, evenly spread over [0, 1)."""
    return (_mixed(key + index * _GOLDEN) >> 11) / (1 << 53)


def normal(key: int, index: int) -> float:
    """The draw number `index` of a stream, bell-shaped with mean 0 and deviation 1.

    The sum of four even draws of 16 bits: its tails end at 3.5 deviations, which suits rooms and weather.
    """
    bits = _mixed(key + index * _GOLDEN)
    total = (bits & 0xFFFF) + (bits >> 16 & 0xFFFF) + (bits >> 32 & 0xFFFF) + (bits >> 48)
    return (total / 0xFFFF - 2.0) / _SD_OF_FOUR


def _mixed(value: int) -> int:
    """The finishing step of splitmix64 (Steele, Lea, Flood 2014): near inputs give unlike outputs."""
    value &= _MASK
    value = ((value ^ (value >> 30)) * 0xBF58476D1CE4E5B9) & _MASK
    value = ((value ^ (value >> 27)) * 0x94D049BB133111EB) & _MASK
    return value ^ (value >> 31)
