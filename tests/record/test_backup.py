"""Backups: made beside a running watch, checked, kept by a rotation, and put back."""

import json
import shutil
import sqlite3
import threading
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.record.backup.description import Backup, BackupError, backup_at, backups_in
from service.record.backup.making import LAST_ROOM, ROOM_LEFT, back_up, copy_away, make, make_room
from service.record.backup.restoring import preview, restore
from service.record.backup.rotation import Keeping, staying
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


def pretend(place: Path, at: datetime) -> Backup:
    """A file and a description that count as a backup of that time."""
    place.mkdir(exist_ok=True)
    path = place / f"record-{at:%Y%m%dT%H%M%SZ}.db"
    path.write_bytes(b"x")
    path.with_suffix(".json").write_text("{}")
    return Backup(path, at)


@pytest.mark.parametrize(
    ("free", "left"),
    [
        (ROOM_LEFT, 3),
        (ROOM_LEFT - 1, 1),
        (LAST_ROOM, 1),
        (LAST_ROOM - 1, 0),
    ],
)
def test_on_a_full_disk_the_oldest_backups_go_and_the_newest_last(
    tmp_path: Path, free: int, left: int
) -> None:
    made = [pretend(tmp_path / "backups", NOW - timedelta(days=n)) for n in range(3)]
    (tmp_path / "record.db").write_bytes(b"the record")

    make_room(tmp_path, free=lambda _folder: free)

    assert backups_in(tmp_path / "backups") == made[:left]
    assert (tmp_path / "record.db").read_bytes() == b"the record"


def test_only_as_many_backups_go_as_are_needed(tmp_path: Path) -> None:
    made = [pretend(tmp_path / "backups", NOW - timedelta(days=n)) for n in range(4)]

    def free(_folder: Path) -> int:
        return ROOM_LEFT - 2 + 4 - len(backups_in(tmp_path / "backups"))

    dropped = make_room(tmp_path, free=free)

    assert dropped == 2
    assert backups_in(tmp_path / "backups") == made[:2]


def test_a_backup_for_which_there_is_no_room_is_refused_and_the_newest_stays(tmp_path: Path) -> None:
    made = [pretend(tmp_path / "backups", NOW - timedelta(days=n)) for n in range(2)]

    with pytest.raises(BackupError, match="too little is free"):
        make_room(tmp_path, 10_000_000, lambda _folder: LAST_ROOM)

    assert backups_in(tmp_path / "backups") == made[:1]


def test_a_year_of_nightly_backups_leaves_seven_days_four_weeks_and_six_months() -> None:
    kept: set[datetime] = set()
    for day in range(400):
        at = datetime(2026, 1, 1, 3, 20, tzinfo=UTC) + timedelta(days=day)
        kept = staying({*kept, at})

    newest = datetime(2027, 2, 4, 3, 20, tzinfo=UTC)
    expected = {newest - timedelta(days=n) for n in range(7)}
    expected |= {datetime(2027, 1, d, 3, 20, tzinfo=UTC) for d in (17, 24, 31)}
    expected |= {datetime(y, m, d, 3, 20, tzinfo=UTC) for y, m, d in ((2026, 12, 31), (2026, 11, 30))}
    expected |= {datetime(2026, m, d, 3, 20, tzinfo=UTC) for m, d in ((10, 31), (9, 30))}
    assert kept == expected


TIMES = st.sets(
    st.integers(0, 4000 * 24).map(lambda hours: datetime(2020, 1, 1, tzinfo=UTC) + timedelta(hours=hours))
)


@settings(max_examples=60)
@given(TIMES, TIMES)
def test_the_newest_stays_and_what_goes_never_comes_to_matter_again(
    first: set[datetime], later: set[datetime]
) -> None:
    keeping = Keeping(3, 2, 2)

    stay = staying(first, keeping)

    assert not first or max(first) in stay
    assert len(stay) <= 7
    assert staying(stay, keeping) == stay
    newer = {t for t in later if not first or t > max(first)}
    assert staying(stay | newer, keeping) == staying(first | newer, keeping)


def test_the_alarm_is_raised_by_a_failed_backup_and_returns_with_the_next_good_one(tmp_path: Path) -> None:
    from dataclasses import replace

    from service.watch.backups import backup_jobs
    from service.watch.jobs import Jobs
    from service.watch.loop import Watch

    with rig_in(tmp_path) as rig:
        told = replace(rig.watch._settings, backups=tmp_path)
        rig.watch = Watch(rig.record, [rig.source], rig.clock, told, rig.broker, lambda: None)
        rig.desk = replace(rig.desk, watch=rig.watch)
        rig.app.state.desk = rig.desk
        nightly, _ = backup_jobs(rig.record, tmp_path, tmp_path / "drive")
        jobs = Jobs(rig.record, rig.clock.now)
        rig.rounds(1)

        with pytest.raises(BackupError, match="plugged in"):
            jobs.run_long(nightly)
        rig.until(4200)
        raised = rig.standing()
        (tmp_path / "drive").mkdir()
        jobs.run_long(nightly)
        rig.until(600)
        after = rig.standing()

    assert "plugged in" in raised["backup-old"]["reason"]
    assert after.get("backup-old", {"state": "normal"})["state"] != "unacknowledged"


def test_the_alarm_is_raised_when_the_newest_backup_is_old(tmp_path: Path) -> None:
    from dataclasses import replace

    from service.watch.loop import Watch

    with rig_in(tmp_path) as rig:
        pretend(tmp_path / "backups", rig.clock.at - timedelta(days=3, hours=1))
        told = replace(rig.watch._settings, backups=tmp_path)
        rig.watch = Watch(rig.record, [rig.source], rig.clock, told, rig.broker, lambda: None)
        rig.app.state.desk = replace(rig.desk, watch=rig.watch)
        rig.until(4200)

        assert "3 days" in rig.standing()["backup-old"]["reason"]
