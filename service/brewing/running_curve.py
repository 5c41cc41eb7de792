"""The part of a cooling curve that runs toward the present bath.

Toward one bath, equally stirred, a wort cools ever more slowly (Newton). Where it begins to fall faster, the
bath was changed, ice came in, or somebody stirred: what was before says nothing of the rest of the way.
"""

from collections.abc import Sequence
from datetime import timedelta

from service.brewing.cooling import CoolingSample

BLOCK = timedelta(seconds=120)
FASTER = 1.3
FASTER_C_PER_MIN = 0.15
"""Falling faster by a third and by this much is more than noise and the part's steps of 0.0625 C make."""


def toward_present_bath(samples: Sequence[CoolingSample]) -> list[CoolingSample]:
    """The samples since the wort last began to fall faster, oldest first; all when it never did.

    samples: of one wort, in any order. Their spacing may be anything up to a minute.
    """
    ordered = sorted(samples, key=lambda sample: sample.at)
    begins = 0
    slower: float | None = None
    blocks = _blocks(ordered)
    for first, last in blocks:
        rate = _falling_c_per_min(ordered[first], ordered[last])
        if slower is not None and rate > FASTER * max(slower, 0.0) + FASTER_C_PER_MIN:
            begins = first
        slower = rate
    return ordered[begins:]


def _blocks(ordered: Sequence[CoolingSample]) -> list[tuple[int, int]]:
    """(first, last) of stretches of at least two minutes, one after another."""
    found: list[tuple[int, int]] = []
    first = 0
    for n, sample in enumerate(ordered):
        if sample.at - ordered[first].at >= BLOCK:
            found.append((first, n))
            first = n
    return found


def _falling_c_per_min(first: CoolingSample, last: CoolingSample) -> float:
    minutes = (last.at - first.at).total_seconds() / 60
    return (first.temp_c - last.temp_c) / minutes
