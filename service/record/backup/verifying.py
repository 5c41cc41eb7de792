"""Whether a backup is whole: its size and checksum, SQLite's own checks, and its figures."""

import sqlite3
from contextlib import closing
from pathlib import Path

from service.record.backup.description import Backup, BackupError, Description, description_of
from service.record.database import HEAD
from service.record.sqlite_files import Paused, broken, figures, opened, schema_of, sha256_of


def verify(backup: Backup, paused: Paused) -> Description:
    """Look through a backup; returns its description, or BackupError with what is wrong."""
    description = description_of(backup)
    try:
        size = backup.path.stat().st_size
    except OSError as refused:
        raise BackupError(f"{backup.path} cannot be read: {refused.strerror}.") from None
    if size != description.size:
        said = "is cut short" if size < description.size else "has grown"
        raise BackupError(
            f"{backup.path} {said}: it has {size:,} bytes and had {description.size:,}. Use another backup."
        )
    if sha256_of(backup.path, paused) != description.sha256:
        raise BackupError(f"{backup.path} was altered since it was made. Use another backup.")
    refuse_newer(description.schema, f"The backup {backup.path}")
    refuse_unlike(backup.path, description, paused)
    return description


def refuse_newer(schema: str, what: str) -> None:
    """BackupError when a file was written by a gylewatch newer than this one."""
    if schema > HEAD:
        raise BackupError(
            f"{what} was written by a newer gylewatch (schema {schema}; this one knows {HEAD}). "
            "Install that version first."
        )


def refuse_unlike(path: Path, description: Description, paused: Paused) -> None:
    """BackupError when the database in a file is damaged or differs from what it was made of."""
    try:
        with closing(opened(path, alone=True)) as connection:
            wrong = broken(connection, paused)
            if wrong:
                raise BackupError(f"The database in {path} is damaged: {wrong}.")
            found, schema = figures(connection, paused), schema_of(connection)
    except sqlite3.DatabaseError as refused:
        raise BackupError(f"The database in {path} is damaged: {refused}.") from None
    if schema != description.schema:
        raise BackupError(f"{path} is of schema {schema}, but the original was of {description.schema}.")
    for name in sorted(found.keys() | description.figures.keys()):
        if found.get(name) != description.figures.get(name):
            raise BackupError(
                f"{path} differs from what it was made of: {name} is {found.get(name)}, "
                f"but was {description.figures.get(name)}."
            )
