"""Looking at a machine: a folder stands for its root."""

import os
import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest

from service.doctor.gathering import folder_facts, record_facts, service_facts, synchronised
from service.doctor.machine import bus_facts, open_wide, storage_facts, throttled
from service.doctor.user import User, service_user, user_of
from tests.rig import PROBE, Rig, with_batch
from tests.running import free_port

ME = user_of(os.geteuid())
OTHER = User("gylewatch", 54321, frozenset({54321}))


def laid(root: Path, **files: str) -> Path:
    """A root with files in it: the path with __ for its slashes."""
    for name, text in files.items():
        path = root / name.replace("__", "/")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    return root


@pytest.mark.parametrize(
    ("text", "on"),
    [
        ("dtparam=audio=on\n", False),
        ("#dtoverlay=w1-gpio\n", False),
        ("dtoverlay=w1-gpio\n", True),
        ("[all]\n dtoverlay=w1-gpio,gpiopin=17\n", True),
    ],
)
def test_the_overlay_is_read_from_the_boot_folder(text: str, on: bool, tmp_path: Path) -> None:
    (tmp_path / "boot" / "firmware").mkdir(parents=True)
    (tmp_path / "boot" / "firmware" / "config.txt").write_text(text)

    assert bus_facts(tmp_path, tmp_path / "w1", ME).overlay is on


def test_without_a_boot_folder_nothing_is_known_of_the_overlay(tmp_path: Path) -> None:
    seen = bus_facts(tmp_path, tmp_path / "w1", ME)

    assert (seen.overlay, seen.listable, seen.probes) == (None, False, 0)


def test_probes_and_sealed_triggers_are_counted(tmp_path: Path) -> None:
    bus = tmp_path / "w1" / "w1_bus_master1"
    bus.mkdir(parents=True)
    (tmp_path / "w1" / "28-00000a1b2c3d").mkdir()
    (bus / "w1_master_slaves").write_text("28-00000a1b2c3d\n")
    (bus / "therm_bulk_read").touch(mode=0o644)

    mine = bus_facts(tmp_path, tmp_path / "w1", ME)
    others = bus_facts(tmp_path, tmp_path / "w1", OTHER)

    assert (mine.buses, mine.probes, mine.sealed) == (1, 1, ())
    assert others.sealed == (str(bus / "therm_bulk_read"),)


@pytest.mark.parametrize(
    ("mode", "uid", "gids", "may"),
    [
        (0o644, 54321, {1}, False),
        (0o664, 54321, {os.getgid()}, True),
        (0o644, 54321, {os.getgid()}, False),
        (0o666, 54321, {1}, True),
        (0o200, os.geteuid(), {1}, True),
        (0o000, 0, {1}, True),
    ],
)
def test_who_may_write_is_told_from_owner_group_and_mode(
    mode: int, uid: int, gids: set[int], may: bool, tmp_path: Path
) -> None:
    file = tmp_path / "file"
    file.touch()
    file.chmod(mode)

    assert User("somebody", uid, frozenset(gids)).may_write(file) is may


def test_a_folder_must_also_be_entered(tmp_path: Path) -> None:
    tmp_path.chmod(0o772)
    without = OTHER.may_write(tmp_path)
    tmp_path.chmod(0o773)

    assert (without, OTHER.may_write(tmp_path)) == (False, True)


def test_the_service_runs_as_its_own_user_when_root_asks() -> None:
    assert service_user(0, "nobody").name == "nobody"
    assert service_user(0, "no-such-user-here").uid == 0
    assert service_user(54321, "nobody").uid == 54321


def test_the_data_folder_is_seen_as_the_service_meets_it(tmp_path: Path) -> None:
    (tmp_path / "record.db").touch(mode=0o644)
    tmp_path.chmod(0o755)

    mine, others = folder_facts(tmp_path, ME), folder_facts(tmp_path, OTHER)
    tmp_path.chmod(0o700)

    assert (mine.may_write, mine.foreign, mine.open_to_others) == (True, (), True)
    assert (others.may_write, others.foreign, others.owner) == (False, ("record.db",), ME.name)
    assert not folder_facts(tmp_path, ME).open_to_others
    assert not folder_facts(tmp_path / "none", ME).exists
    assert not folder_facts(tmp_path / "record.db", ME).is_folder


@pytest.mark.parametrize(
    ("kernel", "command", "word"),
    [
        ("50005\n", None, 0x50005),
        (None, "throttled=0x50000\n", 0x50000),
        (None, "throttled=0x0\n", 0),
        (None, None, None),
        (None, "VCHI initialization failed", None),
        ("nonsense", None, None),
    ],
)
def test_power_is_asked_of_the_kernel_then_of_the_firmware(
    kernel: str | None, command: str | None, word: int | None, tmp_path: Path
) -> None:
    if kernel is not None:
        laid(tmp_path, **{"sys__devices__platform__soc__soc:firmware__get_throttled": kernel})

    assert throttled(tmp_path, lambda: command) == word


def test_the_disk_tells_of_its_errors_and_its_wear(tmp_path: Path) -> None:
    laid(
        tmp_path,
        sys__fs__ext4__mmcblk0p2__errors_count="3\n",
        sys__fs__ext4__sda1__errors_count="0\n",
        sys__block__mmcblk0__device__life_time="0x02 0x0a\n",
        data__suspect="",
    )

    seen = storage_facts(tmp_path, tmp_path / "data", "suspect")
    elsewhere = storage_facts(tmp_path / "sys", tmp_path / "not" / "there", "suspect")

    assert (seen.fs_errors, seen.worn_percent, seen.damaged, seen.read_only) == (3, 90, True, False)
    assert seen.free_bytes is not None
    assert seen.free_bytes > 0
    assert (elsewhere.fs_errors, elsewhere.worn_percent, elsewhere.damaged) == (0, None, False)


HEAD = "  sl  local_address rem_address   st tx_queue rx_queue tr tm->when retrnsmt   uid\n"


@pytest.mark.parametrize(
    ("tcp", "tcp6", "wide"),
    [
        ("0: 0100007F:208A 00000000:0000 0A 0", "", ()),
        ("0: 00000000:208A 00000000:0000 0A 0", "", ("0.0.0.0",)),
        ("0: 0B01A8C0:208A 00000000:0000 0A 0", "", ("192.168.1.11",)),
        ("0: 0B01A8C0:208A 0C01A8C0:9999 01 0", "", ()),
        ("0: 00000000:1F90 00000000:0000 0A 0", "", ()),
        ("", "0: 00000000000000000000000001000000:208A 0:0 0A 0", ()),
        ("", "0: 00000000000000000000000000000000:208A 0:0 0A 0", ("::",)),
        ("", "0: 0000000000000000FFFF00000100007F:208A 0:0 0A 0", ()),
    ],
)
def test_a_port_open_beyond_this_machine_is_seen(
    tcp: str, tcp6: str, wide: tuple[str, ...], tmp_path: Path
) -> None:
    laid(tmp_path, proc__net__tcp=HEAD + tcp + "\n", proc__net__tcp6=HEAD + tcp6 + "\n")

    assert open_wide(tmp_path, 8330) == wide


@pytest.mark.parametrize(
    ("host", "proxies", "meant", "by_proxy"),
    [
        ("127.0.0.1", ("127.0.0.1",), False, True),
        ("localhost", (), False, False),
        ("0.0.0.0", (), True, False),
        ("::", ("10.0.0.0/8",), True, False),
        ("0.0.0.0", ("::1",), True, True),
    ],
)
def test_what_the_settings_want_of_the_port_is_told(
    host: str, proxies: tuple[str, ...], meant: bool, by_proxy: bool, tmp_path: Path
) -> None:
    seen = service_facts(tmp_path, host, free_port(), proxies)

    assert (seen.meant, seen.by_proxy, seen.answers, seen.wide) == (meant, by_proxy, False, ())


def test_the_kernel_says_whether_the_clock_is_set() -> None:
    assert synchronised() in (True, False, None)


def test_the_record_tells_of_its_channels(rig: Rig) -> None:
    with_batch(rig)
    rig.post("/channels", {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook"})
    rig.source.values[PROBE] = 24.0
    rig.until(900)
    before = record_facts(rig.folder, None)[0].channels
    with sqlite3.connect(rig.folder / "record.db") as record:
        record.execute("UPDATE message SET attempts = 2, far_end = '403 Forbidden'")
    stuck = record_facts(rig.folder, None)[0].channels
    with sqlite3.connect(rig.folder / "record.db") as record:
        record.execute("UPDATE message SET state = 'sent'")

    seen, newest = record_facts(rig.folder, None)

    assert [(one.name, one.sent, one.stuck) for one in before] == [("Hall", 0, 0)]
    assert (stuck[0].sent, stuck[0].far_end) == (0, "403 Forbidden")
    assert stuck[0].stuck >= 1
    assert seen.channels[0].sent >= 1
    assert newest is not None
    assert abs((rig.clock.now() - newest).total_seconds()) < 180
    assert seen.began == datetime(2026, 11, 25, 8, 0, tzinfo=UTC)


def test_a_record_that_is_no_database_is_said_in_words(tmp_path: Path) -> None:
    assert record_facts(tmp_path, None) == (record_facts(tmp_path / "none", None)[0], None)
    (tmp_path / "record.db").write_bytes(b"not a database, but long enough to be looked at" * 100)

    seen, newest = record_facts(tmp_path, None)

    assert "cannot be read" in seen.trouble
    assert newest is None
    assert not list(tmp_path.glob("*-journal"))
