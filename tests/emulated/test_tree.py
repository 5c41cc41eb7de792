"""The emulated kernel behaves as the w1_therm driver of Linux 6.1 does (told from its published source)."""

import contextlib
import os
import threading
import time
from pathlib import Path

import pytest

from tests.emulated.fixtures import EmulatedTreeMaker
from tests.emulated.part import count, crc8, scratchpad
from tests.emulated.tree import EmulatedTree
from tests.emulated.unmount import is_mounted

pytestmark = pytest.mark.component

A, B = "28-00000000000a", "28-00000000000b"


def bulk_file(tree: EmulatedTree) -> Path:
    return tree.root / "w1_bus_master1" / "therm_bulk_read"


def text(tree: EmulatedTree, rom: str = A) -> str:
    return (tree.root / rom / "w1_slave").read_text()


def text_or_error(tree: EmulatedTree) -> None:
    with contextlib.suppress(OSError):
        text(tree)


# Maxim application note 27, and two scratchpads computed by plain arithmetic.
@pytest.mark.parametrize(
    "data, crc",
    [("021cb801000000", 0xA2), ("50054b467fff0c10", 0x1C), ("70014b467fff1010", 0xE1)],
)
def test_its_checksum_matches_the_published_vectors(data: str, crc: int) -> None:
    assert crc8(bytes.fromhex(data)) == crc


def test_a_value_is_shown_in_two_lines(emulated_tree: EmulatedTreeMaker) -> None:
    tree = emulated_tree({A: 23.1875})

    nine = "73 01 4b 46 7f ff 0d 10 41"
    assert text(tree) == f"{nine} : crc=41 YES\n{nine} t=23187\n"
    assert (tree.root / A / "temperature").read_text() == "23187\n"


def test_the_tree_looks_like_the_kernels(emulated_tree: EmulatedTreeMaker) -> None:
    tree = emulated_tree({A: 20.0, f"{B}@2": 20.0}, masters=2)

    assert {path.name for path in tree.root.iterdir()} == {A, B, "w1_bus_master1", "w1_bus_master2"}
    assert (tree.root / A).is_symlink()
    assert (tree.root / "w1_bus_master2" / "w1_master_slaves").read_text() == f"{B}\n"


def test_a_bus_without_probes_says_not_found(emulated_tree: EmulatedTreeMaker) -> None:
    tree = emulated_tree({})

    assert (tree.root / "w1_bus_master1" / "w1_master_slaves").read_text() == "not found.\n"


def test_a_conversion_takes_its_time_and_holds_the_bus(emulated_tree: EmulatedTreeMaker) -> None:
    tree = emulated_tree({A: 20.0, B: 20.0}, speed=5)
    others = threading.Thread(target=text, args=(tree, B))
    started = time.monotonic()

    others.start()
    text(tree, A)
    others.join()

    assert time.monotonic() - started >= 2 * 0.15


def test_a_lower_resolution_is_faster_and_coarser(emulated_tree: EmulatedTreeMaker) -> None:
    tree = emulated_tree({A: 20.3125}, speed=2)

    (tree.root / A / "resolution").write_text("9\n")
    started = time.monotonic()
    shown = text(tree)
    took_s = time.monotonic() - started

    assert shown.endswith("t=20000\n")
    assert 0.09375 / 2 <= took_s < 0.75 / 2


def test_reading_the_resolution_costs_a_conversion(emulated_tree: EmulatedTreeMaker) -> None:
    tree = emulated_tree({A: 20.0})

    assert (tree.root / A / "resolution").read_text() == "12\n"
    assert tree.counts()["conversions"] == 1


def test_an_order_without_its_newline_is_swallowed(emulated_tree: EmulatedTreeMaker) -> None:
    tree = emulated_tree({A: 20.0})

    bulk_file(tree).write_bytes(b"trigger")

    assert bulk_file(tree).read_text() == "0\n"
    assert tree.counts() == {"conversions": 0, "reads": 0, "triggers": 0}


def test_a_bulk_conversion_serves_one_read_of_each_probe(emulated_tree: EmulatedTreeMaker) -> None:
    tree = emulated_tree({A: 20.0, B: 21.0})

    bulk_file(tree).write_bytes(b"trigger\n")
    assert bulk_file(tree).read_text() == "1\n"
    text(tree, A), text(tree, B)
    assert tree.counts()["conversions"] == 1

    text(tree, A)
    assert tree.counts()["conversions"] == 2


def test_the_write_blocks_for_the_conversion_and_reads_meanwhile_are_empty(
    emulated_tree: EmulatedTreeMaker,
) -> None:
    tree = emulated_tree({A: 20.0}, speed=2)
    order = threading.Thread(target=bulk_file(tree).write_bytes, args=(b"trigger\n",))
    started = time.monotonic()

    order.start()
    time.sleep(0.1)
    shown, state = text(tree), bulk_file(tree).read_text()
    order.join()

    assert (shown, state) == ("", "-1\n")
    assert time.monotonic() - started >= 0.375


def test_a_value_left_unread_is_returned_however_late(emulated_tree: EmulatedTreeMaker) -> None:
    tree = emulated_tree({A: 20.0})
    bulk_file(tree).write_bytes(b"trigger\n")

    tree.set(A, 30.0)

    assert text(tree).endswith("t=20000\n")
    assert text(tree).endswith("t=30000\n")


def test_a_probe_drifts_at_a_steady_rate(emulated_tree: EmulatedTreeMaker) -> None:
    tree = emulated_tree({A: 20.0})

    tree.set(A, 20.0, drift_c_per_s=100.0)
    time.sleep(0.1)

    assert int(text(tree).rpartition("=")[2]) >= 30000


@pytest.mark.parametrize(
    "fault, shown",
    [
        ("crc", ""),
        ("empty", ""),
        ("zeros", "00 00 00 00 00 00 00 00 00 : crc=00 YES\n00 00 00 00 00 00 00 00 00 t=0\n"),
        ("power-on", "50 05 4b 46 7f ff 0c 10 1c : crc=1c YES\n50 05 4b 46 7f ff 0c 10 1c t=85000\n"),
        ("one-line", "40 01 4b 46 7f ff 10 10 1d : crc=1d YES\n"),
        ("cut", "40 01 4b 46 7f ff 10 10 1d : crc=1d YES\n40 01 4b 46 7f ff 10 10 1d t=20"),
        ("contradicts", "40 01 4b 46 7f ff 10 10 1d : crc=1d YES\n40 01 4b 46 7f ff 10 10 1d t=24000\n"),
    ],
)
def test_a_fault_lasts_as_many_reads_as_it_was_given(
    emulated_tree: EmulatedTreeMaker, fault: str, shown: str
) -> None:
    tree = emulated_tree({A: 20.0})

    if fault == "zeros":
        tree.fault(A, fault)
        assert text(tree) == shown
        tree.clear(A)
    else:
        tree.fault(A, fault, times=1)
        assert text(tree) == shown

    assert text(tree).endswith("t=20000\n")


def test_an_old_kernel_prints_a_wrong_checksum_and_has_no_bulk(emulated_tree: EmulatedTreeMaker) -> None:
    tree = emulated_tree({A: 20.0}, old_kernel=True)
    tree.fault(A, "crc", times=1)

    wrong = "44 01 4b 46 7f ff 10 10"
    seen_crc = crc8(bytes.fromhex(wrong))
    assert seen_crc != 0x1D
    assert text(tree) == f"{wrong} 1d : crc={seen_crc:02x} NO\n00 00 00 00 00 00 00 00 00 t=20250\n"
    assert not bulk_file(tree).exists()
    assert not (tree.root / A / "resolution").exists()


def test_a_read_that_hangs_comes_back_when_it_is_let_go(emulated_tree: EmulatedTreeMaker) -> None:
    tree = emulated_tree({A: 20.0})
    tree.fault(A, "hang", times=1)
    reader = threading.Thread(target=text, args=(tree,))

    reader.start()
    reader.join(0.2)
    assert reader.is_alive()
    tree.clear(A)
    reader.join(5)

    assert not reader.is_alive()


def test_a_process_whose_read_hangs_can_be_killed(emulated_tree: EmulatedTreeMaker) -> None:
    tree = emulated_tree({A: 20.0})
    tree.fault(A, "hang")
    child = os.posix_spawn("/bin/cat", ["cat", str(tree.root / A / "w1_slave")], {})
    time.sleep(0.2)

    os.kill(child, 9)

    assert os.waitpid(child, 0) == (child, 9)


def test_a_probe_can_be_plugged_in_and_pulled(emulated_tree: EmulatedTreeMaker) -> None:
    tree = emulated_tree({A: 20.0})

    tree.plug(B, 5.0)
    assert text(tree, B).endswith("t=5000\n")
    tree.unplug(B, lingers=True)
    assert text(tree, B) == ""
    tree.unplug(A)
    assert not (tree.root / A).exists()


def test_an_order_that_makes_no_sense_is_refused(emulated_tree: EmulatedTreeMaker) -> None:
    tree = emulated_tree({A: 20.0})

    with pytest.raises(ValueError, match="no probe 28-nothing"):
        tree.set("28-nothing", 1.0)
    with pytest.raises(ValueError, match="cannot do"):
        tree.fault(A, "unheard-of")


def test_nothing_is_left_behind_when_the_block_ends_in_an_error_with_a_read_hanging() -> None:
    tree = EmulatedTree({A: 20.0})
    reader = threading.Thread(target=text_or_error, args=(tree,))

    with contextlib.suppress(ZeroDivisionError), tree:
        tree.fault(A, "hang")
        reader.start()
        time.sleep(0.1)
        raise ZeroDivisionError

    reader.join(5)
    assert not reader.is_alive()
    assert not is_mounted(tree.root)
    assert not tree.root.exists()


def test_nothing_is_left_behind_when_the_server_was_killed() -> None:
    with EmulatedTree({A: 20.0}) as tree:
        tree.kill()
        with pytest.raises(OSError):
            text(tree)

    assert not is_mounted(tree.root)
    assert not tree.root.exists()


def test_a_genuine_part_shows_sixteen_less_the_last_bits_in_byte_six() -> None:
    assert scratchpad(0x0173)[6] == 0x0D
    assert scratchpad(0x0550)[6] == 0x10


def test_a_coarser_part_shows_no_low_bits() -> None:
    assert [count(20.9375, bits) & 7 for bits in (9, 10, 11, 12)] == [0, 4, 6, 7]
