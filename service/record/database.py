"""Opening the record: which database, its schema brought up to date, one writer and many readers."""

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

from sqlalchemy import Connection, Engine, create_engine, inspect, select, table, text
from sqlalchemy.exc import DBAPIError

from service.errors import GylewatchError, NotFoundError, UnavailableError
from service.record import sqlite
from service.record.audit import Attributed, add_audit, present
from service.record.migrations.apart import upgrade_apart
from service.record.writer import Writer, too_large

HEAD = "0001"
"""The newest migration. Kept here so that a start with nothing to do need not load Alembic."""

T = TypeVar("T")


class RecordDamagedError(UnavailableError):
    """The database cannot be read as one; it must be set aside, never deleted."""


class RecordNewerError(GylewatchError):
    """The database was written by a newer version of the program."""


def refusal_of(refused: DBAPIError, where: str) -> UnavailableError:
    """Why the database could not be read, and whether it is damaged.

    SQLite's own class for a malformed file is its plain DatabaseError; what the system refuses (rights, a
    full or failing disk) is an OperationalError and no reason to set anything aside.
    """
    if type(refused.orig) is sqlite3.DatabaseError:
        return RecordDamagedError(f"The record at {where} cannot be read: {refused.orig}.")
    return UnavailableError(
        f"The record at {where} cannot be read now: {refused.orig}. "
        "Look at the disk and at who owns the file."
    )


def _never() -> bool:
    return False


class Record:
    """The open record. `write` runs in the one writer; `reading` gives a read-only connection.

    gone: whether the file that was opened lies elsewhere by now, or nowhere.
    """

    def __init__(
        self,
        writing: Engine,
        reading: Engine,
        where: str,
        monotonic: Callable[[], float],
        gone: Callable[[], bool] = _never,
    ) -> None:
        self.gone = gone
        self._writing = writing
        self._reading = reading
        self.where = where
        self.writer = Writer(writing, monotonic)

    def write(self, work: Callable[[Connection], T], wait_s: float | None = 30.0) -> T:
        """Run `work` in one transaction of the writer and wait for its commit; refused when it is gone."""
        if self.gone():
            raise UnavailableError(
                f"The record {self.where} is gone from its folder; nothing was written. Bring the folder "
                "back (is its disk mounted?) and restart gylewatch."
            )
        to = present()
        if to is None:
            return self.writer.run(work, wait_s)
        done = self.writer.run(lambda connection: _with_its_row(connection, work, to), wait_s)
        to.written()
        return done

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection for queries: one consistent view, no writing.

        Raises UnavailableError when it fails, InvalidInputError for a number that no column can hold.
        """
        try:
            with self._reading.connect() as connection:
                yield connection
        except OverflowError:
            raise too_large() from None
        except DBAPIError as refused:
            raise refusal_of(refused, self.where) from refused

    def damage(self) -> str:
        """What an integrity check finds, or an empty text. Takes a while on a large record."""
        return sqlite.damage(self._reading) if self._reading.dialect.name == "sqlite" else ""

    def close(self) -> None:
        """End the writer after what is queued, bring the log home, close every connection."""
        self.writer.stop()
        self._reading.dispose()
        if self._writing.dialect.name == "sqlite":
            sqlite.checkpoint(self._writing)
        self._writing.dispose()


def _with_its_row(connection: Connection, work: Callable[[Connection], T], to: Attributed) -> T:
    """The work, and in the same transaction the row that says whose it was."""
    done = work(connection)
    row = to.waiting
    if row is not None:
        add_audit(connection, row)
    return done


def open_record(data_dir: Path, url: str | None, monotonic: Callable[[], float]) -> Record:
    """Open the record in `data_dir`, or at `url` (PostgreSQL), and bring its schema up to date.

    Raises RecordDamagedError or RecordNewerError; nothing was changed then.
    """
    if url is None:
        path = data_dir / "record.db"
        writing, where = sqlite.writing_engine(path), str(path)
        reading = sqlite.reading_engine(path)
    else:
        writing = create_engine(url, pool_size=1, max_overflow=0, pool_pre_ping=True)
        reading = create_engine(
            url, pool_size=2, pool_pre_ping=True, execution_options={"postgresql_readonly": True}
        )
        where = writing.url.render_as_string(hide_password=True)
    try:
        _bring_up_to_date(writing, where)
    except DBAPIError as broken:
        writing.dispose()
        raise refusal_of(broken, where) from broken
    except GylewatchError:
        writing.dispose()
        raise
    gone = sqlite.watched(path) if url is None else _never
    return Record(writing, reading, where, monotonic, gone)


@contextmanager
def only_reading(data_dir: Path, url: str | None) -> Iterator[Connection]:
    """A connection that reads, beside a watch that may be running; nothing is made or migrated.

    Raises NotFoundError without a record; RecordNewerError, GylewatchError for another schema.
    """
    path = data_dir / "record.db"
    if url is None and not path.exists():
        raise NotFoundError(f"There is no record in {data_dir}.")
    engine = sqlite.reading_engine(path) if url is None else create_engine(url)
    where = str(path) if url is None else engine.url.render_as_string(hide_password=True)
    try:
        found = _revision(engine)
        if found is not None and found > HEAD:
            raise _newer(where, found)
        if found != HEAD:
            raise GylewatchError(
                f"The record at {where} is of an older gylewatch. Start the watch once: that brings it up "
                "to date."
            )
        with engine.connect() as connection:
            yield connection
    except DBAPIError as refused:
        raise refusal_of(refused, where) from refused
    finally:
        engine.dispose()


def _newer(where: str, found: str) -> RecordNewerError:
    return RecordNewerError(
        f"The record at {where} was written by a newer gylewatch (schema {found}; this one knows "
        f"{HEAD}). Install that version again; the record was not touched."
    )


def _bring_up_to_date(engine: Engine, where: str) -> None:
    found = _revision(engine)
    if found == HEAD:
        return
    if found is not None and found > HEAD:
        raise _newer(where, found)
    upgrade_apart(engine.url)


def _revision(engine: Engine) -> str | None:
    with engine.connect() as connection:
        if not inspect(connection).has_table("alembic_version"):
            return None
        row = connection.execute(select(text("version_num")).select_from(table("alembic_version"))).first()
    return None if row is None else str(row[0])
