"""The record on PostgreSQL: the same tables, the same writer, the same answers, and it takes an export in."""

import json
import os
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from threading import Event

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import create_engine, text

from service.errors import GylewatchError
from service.record.database import HEAD, RecordNewerError, open_record
from service.record.gaps import gaps_between
from service.record.importing import take_in
from service.record.minutes import MinuteRow, buckets, minutes_of, write_minutes
from service.record.outbox import messages
from service.record.tables import metadata
from service.record.taking_over import take_over
from tests.postgresql import PostgreSQL, postgresql
from tests.record.filled import fill, filled_record
from tests.rig import PROBE, START, HandClock, HandSource, Rig, with_batch

pytestmark = pytest.mark.component


@pytest.fixture(scope="module")
def server() -> Iterator[PostgreSQL]:
    with postgresql() as running:
        yield running


@pytest.fixture
def url(server: PostgreSQL) -> str:
    return server.database()


def rig_at(folder: Path, url: str) -> Rig:
    return Rig(folder, HandClock(), HandSource({PROBE: 20.0}), url=url)


def test_the_migrations_make_exactly_the_tables_that_the_program_knows(url: str, tmp_path: Path) -> None:
    open_record(tmp_path, url, lambda: 0.0).close()

    engine = create_engine(url)
    with engine.connect() as connection:
        differences = compare_metadata(
            MigrationContext.configure(connection, opts={"compare_type": True}), metadata
        )
        revision = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    engine.dispose()

    assert differences == []
    assert revision == HEAD


def test_a_record_of_a_newer_version_is_refused(url: str, tmp_path: Path) -> None:
    open_record(tmp_path, url, lambda: 0.0).close()
    engine = create_engine(url)
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    engine.dispose()

    with pytest.raises(RecordNewerError, match="newer gylewatch"):
        open_record(tmp_path, url, lambda: 0.0)


def test_minutes_hours_and_gaps_are_as_they_are_on_sqlite(url: str, tmp_path: Path) -> None:
    rows = [
        MinuteRow(1, 29_000_000 + m, 20_000 + 7 * m, m % 3, m % 5, 6)
        for m in range(600)
        if not 200 <= m < 260
    ]
    record, plain = open_record(tmp_path, url, lambda: 0.0), open_record(tmp_path, None, lambda: 0.0)
    try:
        for one in (record, plain):
            one.write(lambda connection: write_minutes(connection, rows))
        found = []
        for one in (record, plain):
            with one.reading() as connection:
                found.append(
                    (
                        minutes_of(connection, 1, 29_000_000, 29_000_600),
                        buckets(connection, 1, 29_000_000, 29_000_600, 5),
                        buckets(connection, 1, 29_000_000, 29_000_600, 60),
                        gaps_between(connection, 1, 29_000_000, 29_000_600, 1, 2),
                    )
                )
    finally:
        record.close()
        plain.close()

    assert found[0] == found[1]
    assert found[0][0] == rows
    assert found[0][3] == [(29_000_200, 29_000_260)]


def test_a_batch_is_watched_its_alarm_raised_and_its_message_written_in_one(url: str, tmp_path: Path) -> None:
    rig = rig_at(tmp_path, url)
    try:
        rig.post("/channels", {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook"})
        batch = with_batch(rig)
        rig.until(120)
        rig.source.values[PROBE] = 24.0
        rig.until(1200)
        alarm = rig.standing()["above-band"]
        with rig.record.reading() as connection:
            written = messages(connection)
        rig.watch.stop()
        rig.watch = rig._watch()
        rig.watch.start()
        rig.rounds(3)
        after = rig.standing()["above-band"]
        looked = rig.get(f"/batches/{batch}/summary")
    finally:
        rig.close()

    assert any("Bucket" in str(one) for one in written)
    assert after["id"] == alarm["id"]
    assert looked["strays"][0]["side"] == "warm"


def test_everything_that_is_asked_of_a_filled_record_is_answered(url: str, tmp_path: Path) -> None:
    rig = rig_at(tmp_path, url)
    try:
        batch = fill(rig)
        answers = {
            path: rig.client.get(f"/api/v1{path}").status_code
            for path in (
                *("/batches", "/vessels", "/probes", "/alarms", "/channels", "/plans", "/absences"),
                *(f"/batches/{batch}/{what}" for what in ("series", "record.json", "record.csv", "report")),
                *(f"/batches/{batch}/{what}" for what in ("readings", "stages", "places", "readiness")),
                f"/batches/{batch}/faults",
            )
        }
    finally:
        rig.close()

    assert set(answers.values()) == {200}, answers


def test_a_failing_write_leaves_nothing(url: str, tmp_path: Path) -> None:
    record = open_record(tmp_path, url, lambda: 0.0)

    def work(connection: object) -> None:
        write_minutes(connection, [MinuteRow(1, 5, 20_000, 0, 0, 6)])  # type: ignore[arg-type]
        raise GylewatchError("No.")

    try:
        with pytest.raises(GylewatchError):
            record.write(work)
        with record.reading() as connection:
            found = minutes_of(connection, 1, 0, 10)
    finally:
        record.close()

    assert found == []


def called(folder: Path, url: str | None, *words: str) -> subprocess.CompletedProcess[str]:
    """`gylewatch record …` as a person calls it."""
    environment = {**os.environ, "GYLEWATCH_DATA_DIR": str(folder)}
    if url is not None:
        environment["GYLEWATCH_DATABASE_URL"] = url
    program = Path(sys.executable).parent / "gylewatch"
    return subprocess.run(
        [str(program), "record", *words], env=environment, capture_output=True, text=True, check=False
    )


def exported(folder: Path, url: str | None, name: str) -> list[str]:
    """Everything but the first and last line, which name the moment and so differ."""
    done = called(folder, url, "export", str(folder / name), "--with-secrets")
    assert done.returncode == 0, done.stderr
    return (folder / name).read_text().splitlines()[1:-1]


def as_stored(lines: list[str]) -> list[object]:
    """Truth is written as 1 by one database and as true by the other; JSON text may be spaced otherwise."""

    def plain(value: object) -> object:
        if isinstance(value, list):
            return [plain(one) for one in value]
        if isinstance(value, bool):
            return int(value)
        if isinstance(value, str) and value[:1] in ("{", "["):
            return json.loads(value)
        return value

    return [plain(json.loads(line)) for line in lines]


@pytest.fixture(scope="module")
def once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A filled record in a file, to be exported."""
    folder = tmp_path_factory.mktemp("once")
    filled_record(folder)
    return folder


def test_an_installation_goes_from_a_file_to_postgresql_and_back(
    once: Path, url: str, tmp_path: Path
) -> None:
    lines = exported(once, None, "out.export")

    shown = called(tmp_path, url, "import", str(once / "out.export"))
    done = called(tmp_path, url, "import", str(once / "out.export"), "--yes")
    there = exported(tmp_path, url, "there.export")
    back = called(tmp_path, None, "import", str(tmp_path / "there.export"), "--yes")

    assert "Nothing was changed" in shown.stdout
    assert done.returncode == 0, done.stderr
    assert as_stored(there) == as_stored(lines)
    assert back.returncode == 0, back.stderr
    assert as_stored(exported(tmp_path, None, "back.export")) == as_stored(lines)


def test_what_was_in_postgresql_is_set_aside_and_can_come_back(once: Path, url: str, tmp_path: Path) -> None:
    exported(once, None, "again.export")
    rig = rig_at(tmp_path, url)
    try:
        with_batch(rig, name="Before")
        rig.watch.stop()
    finally:
        rig.close()
    before = exported(tmp_path, url, "before.export")

    done = called(tmp_path, url, "import", str(once / "again.export"), "--yes")
    (kept,) = (tmp_path / "set-aside").glob("*/record.export.gz")
    mode = kept.stat().st_mode & 0o777
    undone = called(tmp_path, url, "import", str(kept), "--yes")

    assert done.returncode == 0, done.stderr
    assert str(kept) in done.stdout
    assert mode == 0o600
    assert undone.returncode == 0, undone.stderr
    assert as_stored(exported(tmp_path, url, "after.export")) == as_stored(before)


def test_numbers_go_on_from_the_greater_of_both(once: Path, url: str, tmp_path: Path) -> None:
    exported(once, None, "numbers.export")
    done = called(tmp_path, url, "import", str(once / "numbers.export"), "--yes")
    assert done.returncode == 0, done.stderr

    rig = rig_at(tmp_path, url)
    try:
        newest = max(int(a["id"].removeprefix("a-")) for a in rig.get("/alarms")["items"])
        rig.post("/batches/stair-brown-2026-11-25/notes", {"text": "One more"})
        rig.source.values[PROBE] = 29.0
        rig.until(1500)
        after = max(int(a["id"].removeprefix("a-")) for a in rig.get("/alarms")["items"])
    finally:
        rig.close()

    assert after > newest


def test_a_spoilt_export_changes_nothing_in_postgresql(once: Path, url: str, tmp_path: Path) -> None:
    exported(once, None, "spoilt.export")
    rig = rig_at(tmp_path, url)
    try:
        with_batch(rig, name="Stays")
        rig.watch.stop()
    finally:
        rig.close()
    before = exported(tmp_path, url, "before.export")
    spoilt = once / "spoilt.export"
    spoilt.write_text("\n".join(spoilt.read_text().splitlines()[:-3]) + "\n")

    done = called(tmp_path, url, "import", str(spoilt), "--yes")

    assert done.returncode == 1
    assert "cut short" in done.stderr
    assert exported(tmp_path, url, "after.export") == before
    assert not (tmp_path / "set-aside").exists()


def test_what_postgresql_refuses_in_the_middle_changes_nothing(once: Path, url: str, tmp_path: Path) -> None:
    exported(once, None, "whole.export")
    incoming = take_in(tmp_path, once / "whole.export", Event().wait)
    with closing(sqlite3.connect(incoming.path)) as connection:
        connection.execute("UPDATE message SET title = 'a' || char(0) || 'b'")  # no text of PostgreSQL
        connection.execute("UPDATE mark SET value = 'no json'")
        connection.commit()
    record = open_record(tmp_path, url, lambda: 0.0)
    try:
        record.write(lambda c: write_minutes(c, [MinuteRow(1, 5, 20_000, 0, 0, 6)]))
        with pytest.raises(GylewatchError, match="nothing was changed"):
            take_over(record, tmp_path, incoming.path, START)
        with record.reading() as connection_:
            left = minutes_of(connection_, 1, 0, 10)
    finally:
        record.close()

    assert left == [MinuteRow(1, 5, 20_000, 0, 0, 6)]


@pytest.mark.parametrize("words", [("backup",), ("verify",), ("restore", "--yes")])
def test_backup_and_restore_point_to_postgresqls_own_tools(
    words: tuple[str, ...], url: str, tmp_path: Path
) -> None:
    done = called(tmp_path, url, *words)

    assert done.returncode == 1
    assert "pg_dump" in done.stderr
    assert "record export" in done.stderr
