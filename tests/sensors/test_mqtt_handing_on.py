"""What waits while nobody takes it."""

import asyncio
from collections.abc import Sequence
from datetime import UTC, datetime
from types import SimpleNamespace

from sensors.mqtt.handing_on import MOST_AT_ONCE, HandingOn, Item, Taken
from sensors.pushed import Wanted
from sensors.sample import ProbeId

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
AIR = Wanted(ProbeId("air"), "air")
GONE = Wanted(ProbeId("gone"), "gone")


def never(probe_id: ProbeId, batch: Sequence[Item]) -> Taken:
    raise OSError("the disk is full")


def test_the_oldest_values_go_when_too_many_wait() -> None:
    taken: list[float] = []

    def accept(probe_id: ProbeId, batch: Sequence[Item]) -> Taken:
        taken.extend(value_c for _, _, value_c in batch)
        return SimpleNamespace(refused=())

    handing_on = HandingOn(lambda: [AIR], accept)
    for n in range(MOST_AT_ONCE + 3):
        handing_on.take([AIR], "air", str(n).encode(), False, NOW)

    assert asyncio.run(handing_on.hand_on())
    assert handing_on.lost == 3
    assert taken == list(range(3, MOST_AT_ONCE + 3))


def test_values_wait_for_a_probe_that_is_declared_and_not_for_one_that_was_taken_away() -> None:
    handing_on = HandingOn(lambda: [AIR], never)
    handing_on.take([AIR, GONE], "gone", b"17", False, NOW)

    assert asyncio.run(handing_on.hand_on())  # nothing waits on

    handing_on.take([AIR, GONE], "air", b"17", False, NOW)

    assert not asyncio.run(handing_on.hand_on())
    assert not asyncio.run(handing_on.hand_on())
    assert handing_on.lost == 0
