import threading
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from datetime import UTC, datetime
from pathlib import Path

import pytest

from sensors.buses import BusSweep
from sensors.onewire import GIVE_UP_AFTER, OneWireSource
from sensors.sample import FaultKind, ProbeFault, ProbeId
from tests.emulated.fixtures import EmulatedTreeMaker
from tests.emulated.part import scratchpad
from tests.emulated.tree import EmulatedTree

A, B = ProbeId("28-00000000000a"), ProbeId("28-00000000000b")
AT = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)

component = pytest.mark.component


SourceMaker = Callable[..., OneWireSource]


@pytest.fixture
def source_on() -> Iterator[SourceMaker]:
    with ExitStack() as sources:

        def make(root: Path, timeout_s: float = 1.0) -> OneWireSource:
            source = OneWireSource(root, monotonic=time.monotonic, conversion_timeout_s=timeout_s)
            sources.callback(source.close)
            return source

        yield make


def values(sweep: BusSweep) -> dict[ProbeId, float]:
    return {value.probe_id: value.raw_c for value in sweep.values}


def kinds(sweep: BusSweep) -> dict[ProbeId, FaultKind]:
    return {fault.probe_id: fault.kind for fault in sweep.faults}


def bulk_file(tree: EmulatedTree, master: int = 1) -> Path:
    return tree.root / f"w1_bus_master{master}" / "therm_bulk_read"


def test_a_missing_folder_is_trouble_in_words_and_looked_at_again(
    source_on: SourceMaker, tmp_path: Path
) -> None:
    source = source_on(tmp_path / "devices")

    first = source.sweep(AT)
    (tmp_path / "devices").mkdir()
    second = source.sweep(AT)

    assert "devices is missing" in first.trouble
    assert "GYLEWATCH_W1_ROOT" in first.trouble
    assert "There is no 1-wire bus" in second.trouble
    assert (first.present, first.values, first.faults) == (frozenset(), (), ())


def test_a_root_that_is_no_folder_is_trouble_too(source_on: SourceMaker, tmp_path: Path) -> None:
    (tmp_path / "devices").write_text("")

    assert "cannot be read (Not a directory)" in source_on(tmp_path / "devices").sweep(AT).trouble


def test_probes_of_a_root_without_masters_are_read_one_by_one(source_on: SourceMaker, tmp_path: Path) -> None:
    nine = "73 01 4b 46 7f ff 0d 10 41"
    (tmp_path / A).mkdir()
    (tmp_path / A / "w1_slave").write_text(f"{nine} : crc=41 YES\n{nine} t=23187\n")
    (tmp_path / "28-nonsense").mkdir()
    (tmp_path / "3a-00000000000c").mkdir()

    sweep = source_on(tmp_path).sweep(AT)

    assert values(sweep) == {A: 23.1875}
    assert sweep.present == {A}
    assert "does not say which bus" in sweep.notes[0]


def test_a_file_that_may_not_be_read_is_a_fault_with_the_reason(
    source_on: SourceMaker, tmp_path: Path
) -> None:
    (tmp_path / A / "w1_slave").mkdir(parents=True)

    sweep = source_on(tmp_path).sweep(AT)

    assert sweep.faults == (ProbeFault(A, AT, FaultKind.UNREADABLE, "Is a directory"),)


def test_a_probe_whose_folder_is_empty_has_vanished(source_on: SourceMaker, tmp_path: Path) -> None:
    (tmp_path / A).mkdir()

    assert kinds(source_on(tmp_path).sweep(AT)) == {A: FaultKind.VANISHED}


@component
def test_a_bus_without_a_probe_is_trouble_in_words(
    source_on: SourceMaker, emulated_tree: EmulatedTreeMaker
) -> None:
    tree = emulated_tree({})

    assert "No probe answers on w1_bus_master1" in source_on(tree.root).sweep(AT).trouble


@component
def test_a_sweep_reads_every_probe_with_one_conversion(
    source_on: SourceMaker, emulated_tree: EmulatedTreeMaker
) -> None:
    tree = emulated_tree({A: 20.0625, B: -10.125})

    sweep = source_on(tree.root).sweep(AT)

    assert values(sweep) == {A: 20.0625, B: -10.125}
    assert sweep.present == {A, B}
    assert (sweep.trouble, sweep.notes, sweep.faults) == ("", (), ())
    assert sweep.values[0].at == AT
    assert sweep.values[0].scratchpad == scratchpad(0x0141)
    assert 0 < sweep.values[0].read_s < sweep.took_s
    assert tree.counts() == {"conversions": 1, "reads": 2, "triggers": 1}


@component
@pytest.mark.parametrize("family", ["28", "22", "3b", "42"])
def test_the_kin_of_the_part_are_read_as_well(
    source_on: SourceMaker, emulated_tree: EmulatedTreeMaker, family: str
) -> None:
    probe = ProbeId(f"{family}-00000000000a")
    tree = emulated_tree({probe: 19.5})

    assert values(source_on(tree.root).sweep(AT)) == {probe: 19.5}


@component
def test_a_probe_that_is_plugged_in_appears_and_one_that_is_pulled_goes(
    source_on: SourceMaker,
    emulated_tree: EmulatedTreeMaker,
) -> None:
    tree = emulated_tree({A: 20.0})
    source = source_on(tree.root)
    source.sweep(AT)

    tree.plug(B, 5.0)
    assert source.sweep(AT).present == {A, B}
    tree.unplug(A)
    assert source.sweep(AT).present == {B}


@component
def test_a_value_is_never_the_one_an_earlier_bulk_conversion_left(
    source_on: SourceMaker, emulated_tree: EmulatedTreeMaker
) -> None:
    tree = emulated_tree({A: 20.0})
    bulk_file(tree).write_bytes(b"trigger\n")
    tree.set(A, 30.0)

    assert values(source_on(tree.root).sweep(AT)) == {A: 30.0}


@component
def test_a_value_left_behind_is_thrown_away_where_no_bulk_conversion_may_be_started(
    source_on: SourceMaker,
    emulated_tree: EmulatedTreeMaker,
) -> None:
    tree = emulated_tree({A: 20.0})
    bulk_file(tree).write_bytes(b"trigger\n")
    tree.set(A, 30.0)
    tree.ask("bulk", master=1, bulk="read-only")

    sweep = source_on(tree.root).sweep(AT)

    assert values(sweep) == {A: 30.0}
    assert "is not writable for this user" in sweep.notes[0]


@component
@pytest.mark.parametrize(
    "options, reason",
    [
        ({"bulk": "missing"}, "has no bulk conversion"),
        ({"old_kernel": True}, "has no bulk conversion"),
        ({"bulk": "read-only"}, "is not writable for this user"),
    ],
)
def test_without_bulk_conversion_it_reads_one_by_one_and_says_so(
    source_on: SourceMaker, emulated_tree: EmulatedTreeMaker, options: dict[str, object], reason: str
) -> None:
    tree = emulated_tree({A: 20.0, B: 21.0}, **options)

    sweep = source_on(tree.root).sweep(AT)

    assert values(sweep) == {A: 20.0, B: 21.0}
    assert tree.counts()["conversions"] == 2
    assert len(sweep.notes) == 1
    assert reason in sweep.notes[0]


@component
def test_buses_convert_side_by_side(source_on: SourceMaker, emulated_tree: EmulatedTreeMaker) -> None:
    tree = emulated_tree({A: 20.0, f"{B}@2": 21.0}, masters=2, speed=2)

    sweep = source_on(tree.root).sweep(AT)

    assert values(sweep) == {A: 20.0, B: 21.0}
    assert sweep.buses == (frozenset({A}), frozenset({B}))
    assert sweep.took_s < 1.6 * 0.375


@component
def test_a_resolution_that_is_wanted_is_set_and_set_again_after_a_loss_of_supply(
    source_on: SourceMaker,
    emulated_tree: EmulatedTreeMaker,
) -> None:
    tree = emulated_tree({A: 20.3125})
    source = source_on(tree.root)
    source.want_resolution(A, 10)

    source.sweep(AT)
    assert values(source.sweep(AT)) == {A: 20.25}
    assert source.resolution_of(A) == 10
    tree.unplug(A)
    tree.plug(A, 20.3125)
    source.sweep(AT)

    assert values(source.sweep(AT)) == {A: 20.25}


@component
def test_a_resolution_that_cannot_be_set_is_noted(
    source_on: SourceMaker, emulated_tree: EmulatedTreeMaker
) -> None:
    tree = emulated_tree({A: 20.0}, old_kernel=True)
    source = source_on(tree.root)
    source.want_resolution(A, 9)

    sweep = source.sweep(AT)

    assert values(sweep) == {A: 20.0}
    assert f"The resolution of {A} could not be set to 9 bits" in sweep.notes[1]


@pytest.mark.parametrize("probe, bits", [(A, 8), (A, 13), (ProbeId("10-00000000000a"), 9)])
def test_a_resolution_no_part_has_is_refused(
    source_on: SourceMaker, tmp_path: Path, probe: ProbeId, bits: int
) -> None:
    with pytest.raises(ValueError, match="resolution"):
        source_on(tmp_path).want_resolution(probe, bits)


@component
@pytest.mark.parametrize(
    "fault, old_kernel, kind",
    [
        ("crc", True, FaultKind.CRC),
        ("crc", False, FaultKind.CRC),
        ("empty", False, FaultKind.EMPTY),
        ("empty", True, FaultKind.EMPTY),
        ("one-line", False, FaultKind.CUT_SHORT),
        ("cut", False, FaultKind.CUT_SHORT),
        ("contradicts", False, FaultKind.CONTRADICTS),
        ("garbage", False, FaultKind.UNREADABLE),
        ("eio", False, FaultKind.UNREADABLE),
        ("hang", False, FaultKind.NO_ANSWER),
    ],
)
def test_a_fault_of_a_read_comes_out_as_its_own_kind_and_touches_no_other_probe(
    source_on: SourceMaker, emulated_tree: EmulatedTreeMaker, fault: str, old_kernel: bool, kind: FaultKind
) -> None:
    tree = emulated_tree({A: 20.0, B: 21.0}, old_kernel=old_kernel)
    source = source_on(tree.root, 0.5)
    tree.fault(A, fault)

    sweep = source.sweep(AT)
    tree.clear(A)
    time.sleep(0.1)
    after = source.sweep(AT)

    assert kinds(sweep) == {A: kind}
    assert sweep.faults[0].detail
    assert values(sweep) == {B: 21.0}
    assert values(after) == {A: 20.0, B: 21.0}


@component
@pytest.mark.parametrize(
    "fault, raw_c", [("zeros", 0.0), ("power-on", 85.0), ("disconnected", -127.0), ("too-hot", 127.875)]
)
def test_a_lie_in_good_form_comes_out_with_its_bytes(
    source_on: SourceMaker, emulated_tree: EmulatedTreeMaker, fault: str, raw_c: float
) -> None:
    tree = emulated_tree({A: 20.0})
    tree.fault(A, fault)

    sweep = source_on(tree.root).sweep(AT)

    assert values(sweep) == {A: raw_c}
    assert sweep.values[0].scratchpad is not None


@component
def test_a_true_85_degrees_comes_through(source_on: SourceMaker, emulated_tree: EmulatedTreeMaker) -> None:
    tree = emulated_tree({A: 85.0})

    assert values(source_on(tree.root).sweep(AT)) == {A: 85.0}


@component
@pytest.mark.parametrize("old_kernel, first_two", [(False, FaultKind.CRC), (True, FaultKind.LINGERS)])
def test_a_probe_that_is_still_listed_after_it_was_pulled_lingers(
    source_on: SourceMaker, emulated_tree: EmulatedTreeMaker, old_kernel: bool, first_two: FaultKind
) -> None:
    tree = emulated_tree({A: 20.0, B: 21.0}, old_kernel=old_kernel)
    source = source_on(tree.root)
    tree.unplug(A, lingers=True)

    seen = [kinds(source.sweep(AT)).get(A) for _ in range(4)]

    assert seen == [first_two, first_two, FaultKind.LINGERS, FaultKind.LINGERS]


@component
def test_noise_now_and_then_does_not_count_as_lingering(
    source_on: SourceMaker, emulated_tree: EmulatedTreeMaker
) -> None:
    tree = emulated_tree({A: 20.0})
    source = source_on(tree.root)
    seen = []

    for _ in range(3):
        tree.fault(A, "crc", times=2)
        seen += [kinds(source.sweep(AT)).get(A) for _ in range(3)]

    assert seen == [FaultKind.CRC, FaultKind.CRC, None] * 3


@component
def test_a_read_that_never_returns_costs_one_wait_and_is_not_tried_while_it_is_out(
    source_on: SourceMaker,
    emulated_tree: EmulatedTreeMaker,
) -> None:
    tree = emulated_tree({A: 20.0, B: 21.0})
    source = source_on(tree.root, 0.4)
    tree.fault(A, "hang")

    first, second = source.sweep(AT), source.sweep(AT)

    assert 0.4 <= first.took_s < 0.8
    assert second.took_s < 0.4
    assert kinds(first) == kinds(second) == {A: FaultKind.NO_ANSWER}
    assert source.stuck == 1


@component
def test_a_bus_that_hangs_costs_two_waits_and_comes_back_by_itself(
    source_on: SourceMaker, emulated_tree: EmulatedTreeMaker
) -> None:
    probes = {f"28-0000000000{number:02d}": 20.0 for number in range(6)}
    tree = emulated_tree(probes)
    source = source_on(tree.root, 0.3)
    source.sweep(AT)
    tree.hang_bus()

    hung = source.sweep(AT)
    tree.release()
    time.sleep(0.2)
    after = source.sweep(AT)

    assert set(kinds(hung)) == set(probes)
    assert set(kinds(hung).values()) == {FaultKind.NO_ANSWER}
    assert hung.took_s < (GIVE_UP_AFTER + 1) * 0.3
    assert "does not come back" in hung.notes[0]
    assert len(after.values) == 6
    assert source.stuck == 0


@component
def test_a_bus_that_hangs_for_long_does_not_gather_threads_without_limit(
    source_on: SourceMaker,
    emulated_tree: EmulatedTreeMaker,
) -> None:
    probes = {f"28-0000000000{number:02d}": 20.0 for number in range(30)}
    tree = emulated_tree(probes)
    source = source_on(tree.root, 0.02)
    tree.hang_bus()

    for _ in range(20):
        source.sweep(AT)

    assert source.stuck == 16
    assert sum(thread.name.startswith("1-wire w1_bus") for thread in threading.enumerate()) == 16


@component
def test_another_bus_goes_on_while_one_hangs(
    source_on: SourceMaker, emulated_tree: EmulatedTreeMaker
) -> None:
    tree = emulated_tree({A: 20.0, f"{B}@2": 21.0}, masters=2)
    tree.hang_bus(1)

    sweep = source_on(tree.root, 0.3).sweep(AT)

    assert values(sweep) == {B: 21.0}
    assert kinds(sweep) == {A: FaultKind.NO_ANSWER}


@component
def test_a_tree_that_dies_and_comes_back_is_survived(
    source_on: SourceMaker, emulated_tree: EmulatedTreeMaker
) -> None:
    tree = emulated_tree({A: 20.0})
    source = source_on(tree.root)
    source.sweep(AT)

    tree.kill()
    dead = source.sweep(AT)
    tree.stop()
    tree.start()

    assert "cannot be read" in dead.trouble
    assert values(source.sweep(AT)) == {A: 20.0}


@component
def test_closing_it_does_not_wait_for_what_is_stuck(
    source_on: SourceMaker, emulated_tree: EmulatedTreeMaker
) -> None:
    tree = emulated_tree({A: 20.0})
    source = source_on(tree.root, 0.1)
    tree.fault(A, "hang")
    source.sweep(AT)
    started = time.monotonic()

    source.close()

    assert time.monotonic() - started < 0.1
