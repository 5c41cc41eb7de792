"""A start on what is wrong: refused in a sentence with the remedy; the data stay as they are, to the byte."""

import os
import sqlite3
import subprocess
from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.running import PROGRAM, Running, free_port

pytestmark = pytest.mark.component

SOMEBODY = 54321
MADE_BY_A_LOOK = {"lock", "record.db-shm", "record.db-wal"}
"""Files that hold nothing: a lock, and what SQLite lays beside a record that is open."""

as_root = pytest.mark.skipif(os.geteuid() != 0, reason="only root may give files away")
WITHOUT_RIGHTS = ("setpriv", "--bounding-set=-dac_override,-dac_read_search,-fowner,-chown")
"""Root like any user: nothing is unwritable to root otherwise."""


@pytest.fixture
def data(tmp_path: Path) -> Path:
    """A folder with a record in it."""
    with Running(tmp_path / "data", log="warning") as running:
        running.post("/vessels", {"name": "Bucket", "volume_l": 5})
        running.stop()
    return tmp_path / "data"


def start(data: Path, before: Sequence[str] = (), **settings: object) -> subprocess.CompletedProcess[str]:
    """Start the service on that folder; it must end by itself."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith("GYLEWATCH_")}
    given = {"DATA_DIR": data, "PORT": free_port(), "CLOCK": "trusted", **settings}
    return subprocess.run(
        [*before, str(PROGRAM), "watch"],
        env=kept | {f"GYLEWATCH_{name}": str(value) for name, value in given.items()},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def held(data: Path) -> dict[str, bytes]:
    """Everything in the folder that matters."""
    return {
        str(path.relative_to(data)): path.read_bytes()
        for path in data.rglob("*")
        if path.is_file() and path.name not in MADE_BY_A_LOOK
    }


def refused(done: subprocess.CompletedProcess[str], *words: str) -> None:
    """It ended with 1 and said these words, in a sentence and without a trace of its insides."""
    assert done.returncode == 1, done.stderr
    assert done.stderr.startswith("gylewatch: "), done.stderr
    assert "Traceback" not in done.stderr
    for word in words:
        assert word in done.stderr


def test_a_record_of_a_newer_version_is_refused_with_the_remedy(data: Path) -> None:
    with sqlite3.connect(data / "record.db") as record:
        record.execute("UPDATE alembic_version SET version_num = '9999'")
    record.close()
    before = held(data)

    done = start(data)

    refused(done, "newer gylewatch", "Install that version again")
    assert held(data) == before


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (None, ("There is no settings file",)),
        ("port = 'eighty'", ("port in", "'eighty'")),
        ("port = ", ("read",)),
    ],
)
def test_a_missing_or_wrong_settings_file_is_refused_with_its_name(
    text: str | None, words: tuple[str, ...], data: Path, tmp_path: Path
) -> None:
    file = tmp_path / "gylewatch.toml"
    if text is not None:
        file.write_text(text)
    before = held(data)

    kept = {k: v for k, v in os.environ.items() if not k.startswith("GYLEWATCH_")}
    done = subprocess.run(
        [str(PROGRAM), "watch"],
        env=kept | {"GYLEWATCH_DATA_DIR": str(data), "GYLEWATCH_SETTINGS": str(file)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )

    refused(done, str(file), *words)
    assert held(data) == before


@as_root
def test_a_data_folder_of_another_user_is_refused_with_the_remedy(data: Path) -> None:
    before = held(data)
    os.chown(data, SOMEBODY, SOMEBODY)

    done = start(data, WITHOUT_RIGHTS)
    os.chown(data, 0, 0)

    refused(done, str(data), "change its owner")
    assert held(data) == before


@as_root
@pytest.mark.parametrize("name", ["record.db", "lock"])
def test_a_file_of_another_user_in_the_data_folder_is_refused_with_the_remedy(name: str, data: Path) -> None:
    before = held(data)
    os.chown(data / name, SOMEBODY, SOMEBODY)
    (data / name).chmod(0o600)

    done = start(data, WITHOUT_RIGHTS)

    refused(done, "owns" if name == "record.db" else "owner")
    assert held(data) == before


def test_a_second_one_on_the_same_data_is_refused_and_the_first_goes_on(tmp_path: Path) -> None:
    with Running(tmp_path / "data", log="warning") as first:
        first.post("/vessels", {"name": "Bucket", "volume_l": 5})

        done = start(first.folder)

        assert [one["id"] for one in first.get("/vessels")["items"]] == ["bucket"]
        assert first.client.get("/readyz").status_code == 200
    refused(done, "Another gylewatch", str(first.folder), "Stop that one first")
