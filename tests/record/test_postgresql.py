"""The record on PostgreSQL: the same tables, the same writer, the same answers, and it takes an export in."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import create_engine, text

from service.errors import GylewatchError
from service.record.database import HEAD, RecordNewerError, open_record
from service.record.gaps import gaps_between
from service.record.minutes import MinuteRow, buckets, minutes_of, write_minutes
from service.record.outbox import messages
from service.record.tables import metadata
from tests.postgresql import PostgreSQL, postgresql
from tests.record.filled import fill
from tests.rig import PROBE, HandClock, HandSource, Rig, with_batch

pytestmark = pytest.mark.component


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[PostgreSQL]:
    with postgresql(tmp_path_factory.mktemp("postgresql")) as running:
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
