import sqlite3
from contextlib import closing
from pathlib import Path

from service.record.keeping import SUSPECT
from service.watch.wholeness import Wholeness
from tests.rig import Rig, rig_in


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


def test_damage_is_told_and_set_aside_at_the_next_start(tmp_path: Path) -> None:
    with rig_in(tmp_path) as rig:
        rig.until(120)
        rig.watch.stop()
    path = tmp_path / "record.db"
    with closing(sqlite3.connect(path)) as database:
        (root,) = database.execute("SELECT rootpage FROM sqlite_master WHERE name = 'minute'").fetchone()
    pages = bytearray(path.read_bytes())
    pages[(root - 1) * 4096 + 8 : (root - 1) * 4096 + 40] = b"\xff" * 32
    path.write_bytes(bytes(pages))
    with rig_in(tmp_path) as rig:
        told: list[str] = []

        found = checked(rig, told).check()

        assert found
        assert told
        assert (tmp_path / SUSPECT).exists()
