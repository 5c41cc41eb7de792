import os
import sys
from pathlib import Path

import pytest

from sensors.sample import FaultKind, ProbeId
from sensors.scratchpad import Reading, Unusable, crc8
from sensors.w1files import LOOSE, Bulk, KernelProbes, bulk_state, convert_all, list_buses, set_resolution

A, B = ProbeId("28-00000000000a"), ProbeId("28-00000000000b")


def put(root: Path, probe: str, eight: str, value: int) -> ProbeId:
    """A probe's folder as plain files; eight bytes in hex, the CRC is added."""
    nine = bytes.fromhex(eight) + bytes([crc8(bytes.fromhex(eight))])
    shown = nine.hex(" ")
    (root / probe).mkdir()
    (root / probe / "w1_slave").write_text(f"{shown} : crc={nine[8]:02x} YES\n{shown} t={value}\n")
    return ProbeId(probe)


# Values from the driver's arithmetic: whole thousandths, towards zero (w1_therm.c, Linux 6.1).
@pytest.mark.parametrize(
    "probe, eight, value, raw_c",
    [
        ("28-00000000000a", "ff ff 4b 46 7f ff 01 10", -62, -0.0625),
        ("28-00000000000a", "50 05 4b 46 7f ff 10 10", 85000, 85.0),
        ("28-00000000000a", "40 01 4b 46 83 ff 10 10", 20046, 20.046875),
        ("10-00000000000a", "32 00 4b 46 ff ff 0c 10", 25000, 25.0),
        ("10-00000000000a", "32 00 4b 46 ff ff 0b 10", 25062, 25.0625),
        ("3b-00000000000a", "93 01 4b 46 f0 ff 10 10", 25000, 25.0),
    ],
)
def test_it_reads_a_value_with_its_bytes(
    tmp_path: Path, probe: str, eight: str, value: int, raw_c: float
) -> None:
    found = KernelProbes(tmp_path).read(put(tmp_path, probe, eight, value))

    assert isinstance(found, Reading)
    assert found.raw_c == raw_c
    assert found.scratchpad[:8] == bytes.fromhex(eight)


def test_the_library_is_kept_from_loading_kernel_modules(tmp_path: Path) -> None:
    KernelProbes(tmp_path).load()

    assert os.environ["W1THERMSENSOR_NO_KERNEL_MODULE"] == "1"
    assert "w1thermsensor" in sys.modules


def test_two_roots_do_not_get_into_each_others_way(tmp_path: Path) -> None:
    for name, value, eight in (("one", 20000, "40 01"), ("two", 25062, "91 01")):
        (tmp_path / name).mkdir()
        put(tmp_path / name, A, f"{eight} 4b 46 7f ff 10 10", value)
    first, second = KernelProbes(tmp_path / "one"), KernelProbes(tmp_path / "two")

    read = [one.read(A) for one in (first, second, first)]

    assert [found.raw_c for found in read if isinstance(found, Reading)] == [20.0, 25.0625, 20.0]


@pytest.mark.parametrize("text", [b"", b"YES\n", b"\xff\xfe YES\n\n", b"zz YES\nzz zz\n", b" YES\n t=\n"])
def test_text_that_makes_the_library_raise_is_a_fault(tmp_path: Path, text: bytes) -> None:
    (tmp_path / A).mkdir()
    (tmp_path / A / "w1_slave").write_bytes(text)

    assert isinstance(KernelProbes(tmp_path).read(A), Unusable)


def test_a_probe_without_a_folder_has_vanished(tmp_path: Path) -> None:
    found = KernelProbes(tmp_path).read(A)

    assert isinstance(found, Unusable)
    assert found.kind is FaultKind.VANISHED


def test_it_lists_what_each_master_admits_to_and_the_rest_apart(tmp_path: Path) -> None:
    for name in (A, B, "28-0000000000XX", "29-00000000000c", "w1_bus_master1", "w1_bus_master2"):
        (tmp_path / name).mkdir()
    (tmp_path / "w1_bus_master1" / "w1_master_slaves").write_text(f"{A}\n28-0000000000ee\n")

    assert list_buses(tmp_path) == {"w1_bus_master1": (A,), "w1_bus_master2": (), LOOSE: (B,)}


def test_an_order_that_the_driver_did_not_take_is_noticed(tmp_path: Path) -> None:
    order = tmp_path / "therm_bulk_read"
    order.write_text("")

    bulk = convert_all(order)

    assert order.read_text() == "trigger\n"
    assert bulk == Bulk(False, "the driver did not take the order for a bulk conversion")


def test_without_the_file_there_is_no_bulk_conversion(tmp_path: Path) -> None:
    assert convert_all(tmp_path / "therm_bulk_read") == Bulk(False, "this kernel has no bulk conversion")
    assert bulk_state(tmp_path / "therm_bulk_read") == ""


def test_an_order_that_fails_says_why(tmp_path: Path) -> None:
    assert convert_all(tmp_path) == Bulk(False, "the bulk conversion failed (Is a directory)")


def test_a_resolution_is_written_as_a_line(tmp_path: Path) -> None:
    (tmp_path / "resolution").write_text("")

    assert set_resolution(tmp_path, 10) == ""
    assert (tmp_path / "resolution").read_text() == "10\n"
    assert set_resolution(tmp_path / "nowhere", 10) == "No such file or directory"
