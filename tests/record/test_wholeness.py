import sqlite3
import time
from contextlib import closing
from pathlib import Path

import pytest

from service.errors import UnavailableError
from service.record.keeping import SUSPECT, open_or_set_aside
from service.watch.wholeness import Wholeness
from tests.rig import START, Rig, rig_in


def checked(rig: Rig, told: list[str]) -> Wholeness:
    return Wholeness(rig.record, rig.folder, told.append)


def test_after_a_clean_end_nothing_is_checked(rig: Rig) -> None:
    first = checked(rig, [])
    first.start()
    first.stop()

    second = checked(rig, [])
    second.start()

    assert second._thread is None


def test_after_an_unclean_end_the_record_is_checked_beside_the_watch(rig: Rig) -> None:
    checked(rig, []).start()
    told: list[str] = []

    second = checked(rig, told)
    second.start()
    assert second._thread is not None
    second._thread.join(20)

    assert told == []
    assert not (rig.folder / SUSPECT).exists()


def damaged(folder: Path, table: str) -> None:
    """A record with two minutes in it, and this table's first page spoilt."""
    with rig_in(folder) as rig:
        rig.until(120)
        rig.watch.stop()
    path = folder / "record.db"
    with closing(sqlite3.connect(path)) as database:
        (root,) = database.execute("SELECT rootpage FROM sqlite_master WHERE name = ?", (table,)).fetchone()
    pages = bytearray(path.read_bytes())
    pages[(root - 1) * 4096 : root * 4096] = b"\xff" * 4096
    path.write_bytes(bytes(pages))


def test_damage_that_a_start_meets_is_set_aside_at_once(tmp_path: Path) -> None:
    damaged(tmp_path, "minute")

    record, aside = open_or_set_aside(tmp_path, None, time.monotonic, START)
    record.close()

    assert aside is not None
    assert (tmp_path / aside / "record.db").exists()


def test_a_file_that_may_not_be_read_is_not_damaged(tmp_path: Path) -> None:
    (tmp_path / "record.db").mkdir()

    with pytest.raises(UnavailableError, match="who owns"):
        open_or_set_aside(tmp_path, None, time.monotonic, START)

    assert not (tmp_path / "set-aside").exists()


def test_damage_elsewhere_is_told_and_set_aside_at_the_next_start(tmp_path: Path) -> None:
    damaged(tmp_path, "pushed")
    with rig_in(tmp_path) as rig:
        told: list[str] = []

        found = checked(rig, told).check()

        assert found
        assert told
        assert (tmp_path / SUSPECT).exists()
