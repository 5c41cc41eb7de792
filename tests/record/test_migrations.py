"""Migrations from every released schema, with data in it."""

import sqlite3
from contextlib import closing
from pathlib import Path

import jsonschema
import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext

from service.record import sqlite
from service.record.database import HEAD, open_record
from service.record.migrations.apart import MigrationError
from service.record.sqlite_files import broken, figures, opened, schema_of
from service.record.tables import metadata
from tests.record.filled import NOW, paused
from tests.rig import HandClock, rig_in

RELEASES = sorted((Path(__file__).parent / "releases").glob("schema_*.sql"))


def record_of(release: Path, folder: Path) -> None:
    """The record as that release left it."""
    with closing(sqlite3.connect(folder / "record.db")) as connection:
        connection.executescript(release.read_text(encoding="utf-8"))


def test_there_is_a_filled_record_of_the_present_schema() -> None:
    assert RELEASES[-1].name == f"schema_{HEAD}.sql", "make it with: python -m tests.record.releases"


@pytest.mark.parametrize("release", RELEASES, ids=lambda path: path.stem)
def test_a_record_of_that_release_is_brought_up_to_date_with_all_that_is_in_it(
    release: Path, tmp_path: Path
) -> None:
    record_of(release, tmp_path)
    with closing(opened(tmp_path / "record.db")) as connection:
        before = figures(connection, paused)

    open_record(tmp_path, None, lambda: 0.0).close()

    with closing(opened(tmp_path / "record.db")) as connection:
        after = figures(connection, paused)
        assert schema_of(connection) == HEAD
        assert broken(connection, paused) == ""
    assert min(count for name, count in before.items() if "." not in name) > 0, "every table is in the trial"
    assert {name: after.get(name) for name in before} == before
    engine = sqlite.reading_engine(tmp_path / "record.db")
    with engine.connect() as connection_:
        context = MigrationContext.configure(connection_, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []
    engine.dispose()


@pytest.mark.parametrize("release", RELEASES, ids=lambda path: path.stem)
def test_the_program_goes_on_with_a_record_of_that_release(release: Path, tmp_path: Path) -> None:
    record_of(release, tmp_path)

    with rig_in(tmp_path, 20.0, HandClock(NOW)) as rig:
        rig.rounds(8)
        batch = rig.get("/batches")["items"][0]["id"]
        record = rig.get(f"/batches/{batch}/record.json")
        jsonschema.validate(record, rig.get("/batches/record.schema.json"))

    assert record["batch"]["name"] == "Stair brown"
    assert "above-band" in {alarm["key"] for alarm in record["alarms"]}
    assert record["readings"][0]["sg"] == 1.046


def test_a_step_that_fails_leaves_the_record_as_it_was(tmp_path: Path) -> None:
    record_of(RELEASES[0], tmp_path)
    with closing(sqlite3.connect(tmp_path / "record.db")) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '0000'")
        connection.commit()
        before = figures(connection, paused)

    with pytest.raises(MigrationError, match="could not be brought up to date"):
        open_record(tmp_path, None, lambda: 0.0)

    with closing(opened(tmp_path / "record.db")) as connection:
        assert schema_of(connection) == "0000"
        assert figures(connection, paused) == before
