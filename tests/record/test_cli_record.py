"""`gylewatch record` as a user meets it."""

import json
import os
import shutil
from contextlib import closing
from pathlib import Path

import pytest

from service.record.sqlite_files import opened
from tests.record.filled import filled_record
from tests.running import Running
from tests.test_cli import called

pytestmark = pytest.mark.component


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    filled_record(tmp_path / "data")
    return tmp_path / "data"


def test_a_backup_is_made_checked_and_put_back(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "drive").mkdir()

    made = called("record", "backup", "--json", DATA_DIR=folder, BACKUP_TO=tmp_path / "drive")
    newest = called("record", "verify", DATA_DIR=folder)
    copy = called("record", "verify", json.loads(made.stdout)["copy"], "--json", DATA_DIR=folder)
    shown = called("record", "restore", DATA_DIR=folder)
    untouched = not (folder / "set-aside").exists()
    done = called("record", "restore", "--yes", DATA_DIR=folder)

    assert (made.returncode, newest.returncode, copy.returncode) == (0, 0, 0)
    assert "is whole" in newest.stdout
    assert json.loads(copy.stdout)["whole"] is True
    assert shown.returncode == 0
    assert "Nothing was changed" in shown.stdout
    assert untouched
    assert "is the record now" in done.stdout
    assert len(list((folder / "set-aside").iterdir())) == 1


def test_a_missing_drive_fails_the_command_and_names_it(folder: Path, tmp_path: Path) -> None:
    done = called("record", "backup", DATA_DIR=folder, BACKUP_TO=tmp_path / "unplugged")

    assert done.returncode == 1
    assert str(tmp_path / "unplugged") in done.stderr
    assert called("record", "verify", DATA_DIR=folder).returncode == 0


def test_beside_a_running_watch_a_backup_is_made_and_a_restore_refused(tmp_path: Path) -> None:
    with Running(tmp_path / "data"):
        made = called("record", "backup", DATA_DIR=tmp_path / "data")
        refused = called("record", "restore", "--yes", DATA_DIR=tmp_path / "data")

    assert made.returncode == 0, made.stderr
    assert refused.returncode == 1
    assert "Another gylewatch uses the data folder" in refused.stderr


def test_without_a_record_or_a_backup_there_is_one_sentence(tmp_path: Path) -> None:
    nothing = called("record", "backup", DATA_DIR=tmp_path / "data")
    none = called("record", "verify", DATA_DIR=tmp_path / "data")
    postgres = called("record", "backup", DATA_DIR=tmp_path, DATABASE_URL="postgresql+psycopg://u@h/d")

    for done, words in ((nothing, "no record in"), (none, "no backup in"), (postgres, "pg_dump")):
        assert done.returncode == 1
        assert words in done.stderr
        assert "Traceback" not in done.stderr


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can own files as another user")
def test_another_user_than_the_records_owner_is_told_how_to_call_it(folder: Path) -> None:
    shutil.chown(folder / "record.db", "nobody")

    done = called("record", "backup", DATA_DIR=folder)

    assert done.returncode == 1
    assert "sudo -u nobody" in done.stderr
    assert not (folder / "backups").exists()


def test_the_installation_goes_out_beside_the_running_watch_and_in_elsewhere(tmp_path: Path) -> None:
    filled_record(tmp_path / "data")
    file, other = tmp_path / "all.export.gz", tmp_path / "other"

    with Running(tmp_path / "data"):
        out = called("record", "export", str(file), DATA_DIR=tmp_path / "data")
        again = called("record", "export", str(file), DATA_DIR=tmp_path / "data")
        refused = called("record", "import", str(file), "--yes", DATA_DIR=tmp_path / "data")
    shown = called("record", "import", str(file), DATA_DIR=other)
    nothing_yet = not (other / "record.db").exists()
    done = called("record", "import", str(file), "--yes", DATA_DIR=other)

    assert out.returncode == 0, out.stderr
    assert "Secrets were left out" in out.stdout
    assert file.stat().st_mode & 0o077 == 0
    assert (again.returncode, "is there already" in again.stderr) == (1, True)
    assert (refused.returncode, "Another gylewatch" in refused.stderr) == (1, True)
    assert "Nothing was changed" in shown.stdout
    assert "Hall" in shown.stdout
    assert nothing_yet
    assert done.returncode == 0, done.stderr
    with Running(other) as running:
        assert running.get("/batches")["items"][0]["name"] == "Stair brown"


def test_an_export_that_cannot_be_written_is_one_sentence(folder: Path, tmp_path: Path) -> None:
    done = called("record", "export", str(tmp_path / "nowhere" / "x"), DATA_DIR=folder)

    assert done.returncode == 1
    assert "cannot be written" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_missing_file_to_import_is_one_sentence(folder: Path, tmp_path: Path) -> None:
    done = called("record", "import", str(tmp_path / "nowhere"), "--yes", DATA_DIR=folder)

    assert done.returncode == 1
    assert "cannot be read" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_csv_is_shown_first_and_taken_whole(folder: Path, tmp_path: Path) -> None:
    file = tmp_path / "attic.csv"
    file.write_text("Wann;Warm\n25.11.2025 09:00;18,5\n25.11.2025 09:01;18,7\n", encoding="utf-8-sig")
    words = (
        "record",
        "import-csv",
        str(file),
        "--probe",
        "cupboard",
        "--time",
        "Wann",
        "--temperature",
        "Warm",
    )
    form = ("--time-format", "%d.%m.%Y %H:%M", "--zone", "Europe/Berlin")

    refused = called(*words, *form, DATA_DIR=folder)
    shown = called(*words, *form, "--decimal", "comma", DATA_DIR=folder)
    with closing(opened(folder / "record.db")) as connection:
        before = connection.execute("SELECT count(*) FROM minute").fetchone()[0]
    done = called(*words, *form, "--decimal", "comma", "--yes", DATA_DIR=folder)
    with closing(opened(folder / "record.db")) as connection:
        after = connection.execute("SELECT count(*) FROM minute").fetchone()[0]

    assert (refused.returncode, "--decimal comma" in refused.stderr) == (1, True)
    assert "2 temperatures for 'Cupboard'" in shown.stdout
    assert "Nothing was changed" in shown.stdout
    assert done.returncode == 0, done.stderr
    assert after - before == 2
    assert called(*words, "--unit", "R", DATA_DIR=folder).returncode == 2
