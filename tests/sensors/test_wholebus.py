from datetime import UTC, datetime

import pytest

from sensors.sample import FaultKind, ProbeFault, ProbeId
from sensors.wholebus import whole_bus, with_the_gone

A, B, C = ProbeId("a"), ProbeId("b"), ProbeId("c")
AT = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


def faults(**kinds: FaultKind) -> list[ProbeFault]:
    return [ProbeFault(ProbeId(probe), AT, kind, "noise") for probe, kind in kinds.items()]


@pytest.mark.parametrize("a, b", [(FaultKind.CRC, FaultKind.CRC), (FaultKind.NO_ANSWER, FaultKind.ZEROS)])
def test_when_all_probes_of_a_bus_fail_the_bus_is_to_blame(a: FaultKind, b: FaultKind) -> None:
    found = whole_bus(faults(a=a, b=b), [frozenset({A, B})])

    assert {fault.kind for fault in found} == {FaultKind.WHOLE_BUS}
    assert found[0].detail == f"{a}: noise"


def test_a_fault_without_a_detail_leaves_its_kind() -> None:
    bare = [ProbeFault(probe, AT, FaultKind.CRC) for probe in (A, B)]

    assert whole_bus(bare, [frozenset({A, B})])[0].detail == "crc"


@pytest.mark.parametrize(
    "kinds, buses",
    [
        ({"a": FaultKind.CRC}, [frozenset({A, B})]),
        ({"a": FaultKind.CRC}, [frozenset({A})]),
        ({"a": FaultKind.CRC, "b": FaultKind.JUMP}, [frozenset({A, B})]),
        ({"a": FaultKind.EMPTY, "b": FaultKind.EMPTY}, [frozenset({A, B})]),
        ({"a": FaultKind.CRC, "b": FaultKind.CRC}, [frozenset({A}), frozenset({B})]),
        ({"a": FaultKind.CRC}, []),
    ],
)
def test_otherwise_each_keeps_its_own_kind(
    kinds: dict[str, FaultKind], buses: list[frozenset[ProbeId]]
) -> None:
    assert whole_bus(faults(**kinds), buses) == tuple(faults(**kinds))


def test_only_the_probes_of_the_bus_that_fails_are_renamed() -> None:
    found = whole_bus(
        faults(a=FaultKind.CRC, b=FaultKind.CRC, c=FaultKind.CRC), [frozenset({A, B}), frozenset({C})]
    )

    assert [fault.kind for fault in found] == [FaultKind.WHOLE_BUS, FaultKind.WHOLE_BUS, FaultKind.CRC]


@pytest.mark.parametrize(
    "now, before, gone, buses",
    [
        ([{A, B}], [{A, B}], set(), [{A, B}]),
        ([{A}], [{A, B}], {B}, [{A, B}]),
        ([set()], [{A, B}], {A, B}, [{A, B}]),
        ([{C}], [{A, B}, {C}], {A}, [{C}, {A}]),
        ([{A}], [{A, B}], set(), [{A}]),
    ],
)
def test_a_probe_that_is_gone_still_belongs_to_its_bus(
    now: list[set[ProbeId]], before: list[set[ProbeId]], gone: set[ProbeId], buses: list[set[ProbeId]]
) -> None:
    found = with_the_gone(map(frozenset, now), map(frozenset, before), frozenset(gone))

    assert list(map(set, found)) == buses
