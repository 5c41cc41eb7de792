"""What is particular to SQLite; nothing else in the project speaks its dialect.

The record must survive power cuts on an SD card: write-ahead log, FULL synchronisation, one writer
that takes its lock at BEGIN, and readers that cannot write even by mistake.
"""

import logging
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, text
from sqlalchemy.exc import DatabaseError
from sqlalchemy.pool import QueuePool, StaticPool

log = logging.getLogger("gylewatch.record")

BUSY_MS = 10_000


def writing_engine(path: Path) -> Engine:
    """The engine of the one writer: a single connection, BEGIN IMMEDIATE, WAL, FULL."""
    engine = create_engine(
        f"sqlite:///{path}", poolclass=StaticPool, connect_args={"check_same_thread": False}
    )

    @event.listens_for(engine, "connect")
    def _prepare(connection: sqlite3.Connection, _record: Any) -> None:
        connection.isolation_level = None
        for pragma in (
            "journal_mode=WAL",
            "synchronous=FULL",
            "foreign_keys=ON",
            f"busy_timeout={BUSY_MS}",
            "journal_size_limit=4194304",
            "cache_size=-2000",
        ):
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN IMMEDIATE")

    return engine


def reading_engine(path: Path) -> Engine:
    """Readers open the file read-only and never wait for the writer."""
    engine = create_engine(
        f"sqlite:///file:{path}?mode=ro&uri=true",
        poolclass=QueuePool,
        pool_size=2,
        max_overflow=6,
        connect_args={"check_same_thread": False},
    )

    @event.listens_for(engine, "connect")
    def _prepare(connection: sqlite3.Connection, _record: Any) -> None:
        connection.isolation_level = None
        connection.execute(f"PRAGMA busy_timeout={BUSY_MS}")
        connection.execute("PRAGMA query_only=ON")
        connection.execute("PRAGMA cache_size=-1000")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        connection.exec_driver_sql("BEGIN")

    return engine


def damage(engine: Engine) -> str:
    """What SQLite's own integrity check finds, or an empty text."""
    try:
        with engine.connect() as connection:
            rows = [str(row[0]) for row in connection.execute(text("PRAGMA integrity_check(5)"))]
    except DatabaseError as broken:
        return str(broken.orig)
    return "" if rows == ["ok"] else "; ".join(rows)


def watched(path: Path) -> Callable[[], bool]:
    """Tells whether the file that lies at `path` now has left it since.

    SQLite goes on writing into a file that was deleted or moved away, and says that all is well.
    """
    opened = path.stat()

    def gone() -> bool:
        try:
            seen = path.stat()
        except OSError:
            return True
        return (seen.st_dev, seen.st_ino) != (opened.st_dev, opened.st_ino)

    return gone


def checkpoint(engine: Engine) -> None:
    """Bring the log into the file, at a clean end. Where that fails, on a full disk say, all of it stays in
    the log beside the file and is read from there at the next start."""
    raw = engine.raw_connection()
    try:
        raw.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
    except sqlite3.Error as refused:
        log.warning("the record's log stays beside it: %s", refused)
    finally:
        raw.close()
