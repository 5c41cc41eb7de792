from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import text

from service.record import sqlite
from service.record.database import HEAD, RecordNewerError, open_record
from service.record.migrations.run import config_for, upgrade
from service.record.tables import metadata


def test_the_migrations_make_exactly_the_tables_that_the_program_knows(tmp_path: Path) -> None:
    engine = sqlite.writing_engine(tmp_path / "record.db")
    upgrade(engine)

    with engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        found = compare_metadata(context, metadata)
        connection.rollback()
    engine.dispose()

    assert found == []


def test_the_program_knows_the_newest_migration(tmp_path: Path) -> None:
    engine = sqlite.writing_engine(tmp_path / "record.db")

    heads = ScriptDirectory.from_config(config_for(engine)).get_heads()
    engine.dispose()

    assert heads == [HEAD]


def test_a_record_of_a_newer_version_is_refused_and_left_alone(tmp_path: Path) -> None:
    open_record(tmp_path, None, lambda: 0.0).close()
    engine = sqlite.writing_engine(tmp_path / "record.db")
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    engine.dispose()
    before = (tmp_path / "record.db").read_bytes()

    with pytest.raises(RecordNewerError, match="newer gylewatch"):
        open_record(tmp_path, None, lambda: 0.0)

    assert (tmp_path / "record.db").read_bytes() == before


def test_sqlite_is_set_up_to_survive_power_cuts(tmp_path: Path) -> None:
    engine = sqlite.writing_engine(tmp_path / "record.db")
    with engine.connect() as connection:
        settings = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys")
        }
        connection.rollback()
    engine.dispose()

    assert settings == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}


def test_a_reader_cannot_write(tmp_path: Path) -> None:
    from sqlalchemy.exc import OperationalError

    record = open_record(tmp_path, None, lambda: 0.0)

    with record.reading() as connection, pytest.raises(OperationalError):
        connection.execute(text("DELETE FROM vessel"))

    record.close()
