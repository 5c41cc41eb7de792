"""Each fault of the emulated kernel tree, read and screened, comes out as its own kind."""

import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta

import pytest

from sensors.onewire import OneWireSource
from sensors.sample import FaultKind, ProbeId
from sensors.screening import Limits, Screen
from tests.emulated.fixtures import EmulatedTreeMaker
from tests.emulated.tree import EmulatedTree

pytestmark = pytest.mark.component

A, B = ProbeId("28-00000000000a"), ProbeId("28-00000000000b")
START = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
QUICK = Limits(slow_read_s=0.15)
"""Of a conversion that takes 15 ms here."""

Seen = dict[ProbeId, float | FaultKind]


class Watch:
    """Sweeps a tree every ten seconds of its own time and keeps what was believed or refused."""

    def __init__(self, tree: EmulatedTree) -> None:
        self.tree = tree
        self.source = OneWireSource(tree.root, monotonic=time.monotonic, conversion_timeout_s=0.5)
        self._screen = Screen(QUICK)
        self._at = START

    def look(self, later: timedelta = timedelta(seconds=10)) -> Seen:
        self._at += later
        believed, faults = self._screen.sift(self.source.sweep(self._at), self._at)
        seen: Seen = {one.value.probe_id: one.value.raw_c for one in believed}
        return seen | {fault.probe_id: fault.kind for fault in faults}


@pytest.fixture
def watch(emulated_tree: EmulatedTreeMaker) -> Iterator[Callable[..., Watch]]:
    watches = []

    def make(**options: object) -> Watch:
        watches.append(Watch(emulated_tree({A: 20.0, B: 18.0}, **options)))
        return watches[-1]

    yield make
    for one in watches:
        one.source.close()


@pytest.mark.parametrize(
    "fault, value, kind",
    [
        ("crc", 0, FaultKind.CRC),
        ("power-on", 0, FaultKind.POWER_ON),
        ("power-on-7ff", 0, FaultKind.POWER_ON),
        ("zeros", 0, FaultKind.ZEROS),
        ("disconnected", 0, FaultKind.DISCONNECTED),
        ("too-hot", 0, FaultKind.OUT_OF_RANGE),
        ("empty", 0, FaultKind.EMPTY),
        ("one-line", 0, FaultKind.CUT_SHORT),
        ("cut", 3, FaultKind.CUT_SHORT),
        ("cut", 1, FaultKind.CUT_SHORT),
        ("contradicts", 0, FaultKind.CONTRADICTS),
        ("slow", 10, FaultKind.SLOW),
        ("hang", 0, FaultKind.NO_ANSWER),
        ("jump", 30, FaultKind.JUMP),
        ("eio", 0, FaultKind.UNREADABLE),
    ],
)
def test_a_fault_is_refused_by_its_kind_and_the_true_value_is_believed_afterwards(
    watch: Callable[..., Watch], fault: str, value: float, kind: FaultKind
) -> None:
    one = watch()
    assert one.look() == {A: 20.0, B: 18.0}

    one.tree.fault(A, fault, value=value)
    assert one.look() == {A: kind, B: 18.0}
    one.tree.clear(A)
    time.sleep(0.05)

    assert one.look() == {A: 20.0, B: 18.0}


def test_an_old_kernel_says_itself_that_a_checksum_is_wrong(watch: Callable[..., Watch]) -> None:
    one = watch(old_kernel=True)
    one.tree.fault(A, "crc")

    assert one.look() == {A: FaultKind.CRC, B: 18.0}


def test_a_probe_that_is_pulled_vanishes_and_must_speak_twice_when_it_is_back(
    watch: Callable[..., Watch],
) -> None:
    one = watch()
    one.look()

    one.tree.unplug(A)
    assert one.look() == {A: FaultKind.VANISHED, B: 18.0}
    one.tree.plug(A, 20.0, first="power-on")

    assert [one.look()[A] for _ in range(3)] == [FaultKind.POWER_ON, FaultKind.FIRST_VALUE, 20.0]


def test_a_probe_that_is_pulled_but_still_listed_lingers(watch: Callable[..., Watch]) -> None:
    one = watch()
    one.look()

    one.tree.unplug(A, lingers=True)

    assert [one.look()[A] for _ in range(3)] == [FaultKind.CRC, FaultKind.CRC, FaultKind.LINGERS]


def test_a_frozen_probe_is_told_from_one_that_is_steady(watch: Callable[..., Watch]) -> None:
    one = watch()
    one.look()
    one.tree.fault(A, "frozen")
    one.tree.set(A, 22.0)

    one.tree.set(B, 21.0)
    before = one.look(timedelta(hours=11))
    after = one.look(timedelta(hours=2))

    assert before == {A: 20.0, B: 21.0}
    assert after == {A: FaultKind.FROZEN, B: 21.0}


def test_a_bus_that_goes_down_as_a_whole_is_said_to(watch: Callable[..., Watch]) -> None:
    one = watch()
    one.look()

    one.tree.fault(A, "zeros")
    one.tree.fault(B, "zeros")

    assert one.look() == {A: FaultKind.WHOLE_BUS, B: FaultKind.WHOLE_BUS}


def test_a_bus_that_hangs_is_a_fault_of_the_whole_bus(watch: Callable[..., Watch]) -> None:
    one = watch()
    one.look()

    one.tree.hang_bus()

    assert one.look() == {A: FaultKind.WHOLE_BUS, B: FaultKind.WHOLE_BUS}


def test_a_wort_that_climbs_through_85_degrees_is_believed_all_the_way(watch: Callable[..., Watch]) -> None:
    one = watch()
    one.look()
    for temp_c in (60.0, 60.0):
        one.tree.set(A, temp_c)
        one.look()

    climb = []
    for step in range(41):
        one.tree.set(A, 60.0 + step * 0.625)
        climb.append(one.look()[A])

    assert climb == [60.0 + step * 0.625 for step in range(41)]
    assert 85.0 in climb
