"""Backups: made beside a running watch, checked, kept by a rotation, and put back."""

import json
import shutil
import sqlite3
import threading
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

from service.record.backup.description import BackupError, backup_at, backups_in
from service.record.backup.making import back_up, copy_away, make
from service.record.backup.restoring import preview, restore
from service.record.backup.verifying import verify
from service.record.sqlite_files import GivenUpError, figures, opened
from tests.record.filled import NOW, filled_record, paused
from tests.rig import rig_in

WAL_HEADER_VERSION = 18
"""Where SQLite's file header tells how the file is written (1: with a rollback journal, 2: with a log)."""


def tables(path: Path) -> dict[str, list[tuple[object, ...]]]:
    """Every row of every table."""
    with closing(opened(path)) as connection:
        names = [r[0] for r in connection.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        return {
            name: sorted(connection.execute(f'SELECT * FROM "{name}"').fetchall(), key=repr)
            for name in names
            if not name.startswith("sqlite_")
        }


@pytest.fixture(scope="module")
def once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("filled")
    filled_record(folder)
    return folder


@pytest.fixture
def folder(once: Path, tmp_path: Path) -> Path:
    """A folder with a filled record, each test its own."""
    shutil.copytree(once, tmp_path / "data")
    return tmp_path / "data"


def test_a_backup_holds_exactly_what_the_record_held(folder: Path) -> None:
    outcome = back_up(folder, None, NOW, paused)

    assert tables(outcome.backup.path) == tables(folder / "record.db")
    assert outcome.description.figures["minute"] > 10
    assert verify(outcome.backup, paused) == outcome.description
    assert outcome.backup.path.stat().st_mode & 0o077 == 0
    assert outcome.backup.path.read_bytes()[WAL_HEADER_VERSION] == 1, "it must be one file by itself"
    assert sorted(p.name for p in (folder / "backups").iterdir()) == [
        "record-20261125T110000Z.db",
        "record-20261125T110000Z.json",
    ]


def test_a_backup_of_a_record_in_use_is_of_one_moment(tmp_path: Path) -> None:
    with rig_in(tmp_path) as rig:
        ended = threading.Event()
        written = 0

        def write_on() -> None:
            nonlocal written
            while not ended.is_set():
                rig.rounds(6)
                written += 1

        rig.rounds(60)
        writing = threading.Thread(target=write_on)
        writing.start()
        try:
            for n in range(3):
                backup = make(tmp_path, NOW + timedelta(seconds=n), paused)
                verify(backup, paused)
        finally:
            ended.set()
            writing.join()

    assert written > 0
    with closing(opened(tmp_path / "record.db")) as connection:
        assert figures(connection, paused)["minute"] > 0


def test_a_backup_is_given_up_when_the_program_ends_and_leaves_nothing(folder: Path) -> None:
    with pytest.raises(GivenUpError):
        make(folder, NOW, lambda _seconds: True)

    assert list((folder / "backups").iterdir()) == []


def test_what_an_interrupted_backup_left_is_no_backup_and_goes_at_the_next(folder: Path) -> None:
    (folder / "backups").mkdir()
    left = folder / "backups" / "record-20261124T110000Z.db.part"
    left.write_bytes(b"half")

    before = backups_in(folder / "backups")
    back_up(folder, None, NOW, paused)

    assert before == []
    assert not left.exists()


def test_a_backup_is_copied_to_the_named_folder_and_read_back(folder: Path, tmp_path: Path) -> None:
    drive = tmp_path / "drive"
    drive.mkdir()

    outcome = back_up(folder, drive, NOW, paused)

    assert outcome.trouble == ""
    assert outcome.copy == drive / outcome.backup.path.name
    assert verify(backup_at(outcome.copy), paused) == outcome.description


def test_a_drive_that_is_not_there_is_told_and_the_backup_stands(folder: Path, tmp_path: Path) -> None:
    outcome = back_up(folder, tmp_path / "unplugged", NOW, paused)

    assert "plugged in" in outcome.trouble
    assert outcome.copy is None
    assert verify(outcome.backup, paused) == outcome.description
    assert not (tmp_path / "unplugged").exists()


def altered(path: Path) -> None:
    """Change one stored temperature, as a failing card or a hand might."""
    with closing(sqlite3.connect(path)) as connection:
        connection.execute(
            "UPDATE minute SET mean_mc = mean_mc + 1 WHERE minute = (SELECT min(minute) FROM minute)"
        )
        connection.commit()


def cut_short(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:-4096])


def grown(path: Path) -> None:
    path.write_bytes(path.read_bytes() + b"x")


def without_description(path: Path) -> None:
    path.with_suffix(".json").unlink()


def spoilt_description(path: Path) -> None:
    path.with_suffix(".json").write_text("{")


def newer_description(path: Path) -> None:
    text = json.loads(path.with_suffix(".json").read_text())
    path.with_suffix(".json").write_text(json.dumps({**text, "schema": "9999"}))


def other_figures(path: Path) -> None:
    text = json.loads(path.with_suffix(".json").read_text())
    text["figures"]["minute.mean_mc"] += 1
    path.with_suffix(".json").write_text(json.dumps(text))


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (altered, "was altered"),
        (cut_short, "is cut short"),
        (grown, "has grown"),
        (without_description, "belong together"),
        (spoilt_description, "is damaged"),
        (newer_description, "newer gylewatch"),
        (other_figures, "minute.mean_mc is"),
    ],
)
def test_a_spoilt_backup_is_refused_in_words_and_the_record_stays(folder: Path, spoil, words: str) -> None:  # type: ignore[no-untyped-def]
    backup = make(folder, NOW, paused)
    before = (folder / "record.db").read_bytes()
    spoil(backup.path)

    with pytest.raises(BackupError, match=words):
        verify(backup, paused)
    with pytest.raises(BackupError, match=words):
        preview(folder, backup, paused)

    assert (folder / "record.db").read_bytes() == before
    assert not (folder / "set-aside").exists()


def test_a_file_of_another_name_is_no_backup(folder: Path) -> None:
    with pytest.raises(BackupError, match="not named like a backup"):
        backup_at(folder / "record.db")


def test_restoring_brings_back_what_was_and_sets_the_present_aside(folder: Path) -> None:
    backup = make(folder, NOW, paused)
    with rig_in(folder) as rig:
        rig.clock.forward(86400)
        rig.post("/vessels", {"name": "Later"})
        rig.rounds(20)
        rig.watch.stop()
    later = tables(folder / "record.db")

    seen = preview(folder, backup, paused)
    aside = restore(folder, seen, NOW, paused)

    assert any("are not in the backup" in sentence for sentence in seen.sentences())
    assert tables(folder / "record.db") == tables(backup.path)
    assert aside == folder / "set-aside" / "20261125T110000Z"
    assert tables(aside / "record.db") == later
    assert not (folder / "record.db.restoring").exists()
    with rig_in(folder) as rig:
        rig.rounds(2)
        assert [v["id"] for v in rig.get("/vessels")["items"]] == ["bucket"]


def test_numbers_that_left_the_house_are_not_used_again_after_a_restore(folder: Path) -> None:
    backup = make(folder, NOW, paused)
    with closing(sqlite3.connect(folder / "record.db")) as connection:
        connection.execute("UPDATE sqlite_sequence SET seq = 4711 WHERE name = 'message'")
        connection.commit()

    restore(folder, preview(folder, backup, paused), NOW, paused)

    with closing(opened(folder / "record.db")) as connection:
        reached = dict(connection.execute("SELECT name, seq FROM sqlite_sequence").fetchall())
    assert reached["message"] == 4711


def test_a_damaged_record_is_replaced_and_kept_as_it_is(folder: Path) -> None:
    backup = make(folder, NOW, paused)
    kept = tables(folder / "record.db")
    broken = b"this is no database" * 500
    (folder / "record.db").write_bytes(broken)

    seen = preview(folder, backup, paused)
    aside = restore(folder, seen, NOW, paused)

    assert any("cannot be read" in sentence for sentence in seen.sentences())
    assert aside is not None
    assert (aside / "record.db").read_bytes() == broken
    assert tables(folder / "record.db") == kept


def test_the_log_of_a_damaged_record_is_kept_with_it_and_not_played_into_the_restored_one(
    folder: Path,
) -> None:
    backup = make(folder, NOW, paused)
    wanted = tables(folder / "record.db")
    with closing(sqlite3.connect(folder / "record.db")) as running:
        running.execute("UPDATE vessel SET name = 'Killed'")
        running.commit()
        log = (folder / "record.db-wal").read_bytes()
    (folder / "record.db").write_bytes(b"this is no database" * 500)
    (folder / "record.db-wal").write_bytes(log)

    aside = restore(folder, preview(folder, backup, paused), NOW, paused)

    assert aside is not None
    assert (aside / "record.db-wal").read_bytes() == log
    assert tables(folder / "record.db") == wanted


def test_a_copy_that_reads_back_differently_is_no_copy(folder: Path, tmp_path: Path) -> None:
    drive = tmp_path / "drive"
    drive.mkdir()
    backup = make(folder, NOW, paused)
    altered(backup.path)

    with pytest.raises(BackupError, match="reads back differently"):
        copy_away(backup, drive, paused)

    assert list(drive.iterdir()) == []
