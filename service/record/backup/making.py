"""Making a backup: copied beside the running watch, checked, then copied to the place the brewer named.

Every step ends in one rename, so that an interrupted one leaves nothing that looks like a backup.
"""

import shutil
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from service.record.backup.description import (
    FOLDER,
    Backup,
    BackupError,
    Description,
    backup_at,
    backups_in,
    description_of,
    name_at,
    write_description,
)
from service.record.backup.rotation import USUAL, Keeping, staying
from service.record.backup.verifying import refuse_unlike
from service.record.sqlite_files import Paused, copy_online, opened, schema_of, sha256_of, sync
from service.version import __version__

PART = ".part"
ROOM_LEFT = 500_000_000
"""So much stays free on the record's disk: below it a backup goes rather than the room."""
LAST_ROOM = 100_000_000
"""Below this even the newest backup goes: the watch must be able to go on writing."""


def free_on(folder: Path) -> int:
    """Free bytes on the disk of a folder."""
    return shutil.disk_usage(folder).free


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a backup came to. trouble: why the copy elsewhere failed, empty when it did not."""

    backup: Backup
    description: Description
    copy: Path | None
    trouble: str
    dropped: int


def back_up(
    folder: Path, to: Path | None, now: datetime, paused: Paused, keeping: Keeping = USUAL
) -> Outcome:
    """Back the record in `folder` up, and copy that to `to`; older backups go as the rotation says.

    Raises BackupError when there is no good backup afterwards. paused: see sqlite_files.
    """
    backup = make(folder, now, paused)
    dropped = drop_old(folder / FOLDER, keeping)
    copied, trouble = None, ""
    if to is not None:
        try:
            copied = copy_away(backup, to, paused).path
            dropped += drop_old(to, keeping)
        except BackupError as refused:
            trouble = str(refused)
    return Outcome(backup, description_of(backup), copied, trouble, dropped)


def make(folder: Path, now: datetime, paused: Paused) -> Backup:
    """One backup in the folder's own place for them, checked against the original."""
    source, place = folder / "record.db", folder / FOLDER
    if not source.exists():
        raise BackupError(f"There is no record in {folder}.")
    backup = backup_at(place / name_at(now))
    part = backup.path.with_name(backup.path.name + PART)
    try:
        place.mkdir(mode=0o700, exist_ok=True)
        _remove_parts(place)
        if backup.path.exists():
            raise BackupError(f"{backup.path} was made just now; wait a second.")
        make_room(folder, source.stat().st_size)
        part.touch(mode=0o600)
        counted = copy_online(source, part, paused)
        with_schema = _schema(part)
        description = Description(
            made_at=backup.at.isoformat().replace("+00:00", "Z"),
            program=__version__,
            schema=with_schema,
            size=part.stat().st_size,
            sha256=sha256_of(part, paused),
            figures=counted,
        )
        refuse_unlike(part, description, paused)
        part.replace(backup.path)
        write_description(backup, description)
    except (OSError, sqlite3.Error) as refused:
        raise BackupError(f"The backup {backup.path.name} could not be made: {refused}.") from refused
    finally:
        part.unlink(missing_ok=True)
    return backup


def _schema(path: Path) -> str:
    connection = opened(path, alone=True)
    try:
        found = schema_of(connection)
    finally:
        connection.close()
    if found is None:
        raise BackupError("The record has no schema that this program knows.")
    return found


def copy_away(backup: Backup, to: Path, paused: Paused) -> Backup:
    """Copy a backup into the folder `to`, which must be there, and read it back."""
    copied = Backup(to / backup.path.name, backup.at)
    part = copied.path.with_name(copied.path.name + PART)
    if not to.is_dir():
        raise BackupError(f"There is no folder {to}: is the drive plugged in and mounted?")
    try:
        _remove_parts(to)
        part.touch(mode=0o600)
        shutil.copyfile(backup.path, part)
        sync(part)
        if sha256_of(part, paused) != description_of(backup).sha256:
            raise BackupError(f"The copy in {to} reads back differently: the drive may be failing.")
        part.replace(copied.path)
        write_description(copied, description_of(backup))
    except OSError as refused:
        raise BackupError(f"The copy in {to} could not be made: {refused.strerror}.") from refused
    finally:
        if to.is_dir():
            part.unlink(missing_ok=True)
    return copied


def drop_old(place: Path, keeping: Keeping = USUAL) -> int:
    """Delete the backups that the rotation does not keep; returns how many."""
    found = backups_in(place)
    stay = staying((b.at for b in found), keeping)
    return sum(_drop(b) for b in found if b.at not in stay)


def make_room(folder: Path, needed: int = 0, free: Callable[[Path], int] = free_on) -> int:
    """Delete the oldest backups beside the record while the disk is nearly full; returns how many.

    needed: bytes that are about to be written, for which the newest is never given. Otherwise it stays
    until hardly anything is free. free: tells the free bytes. BackupError: there is no room all the same.
    """
    dropped = 0
    oldest_first = backups_in(folder / FOLDER)[::-1]
    for backup in oldest_first[:-1]:
        if free(folder) - needed >= ROOM_LEFT:
            break
        dropped += _drop(backup)
    if needed and free(folder) - needed < LAST_ROOM:
        raise BackupError(
            f"A backup needs {needed / 1e6:,.0f} MB, and too little is free on the disk of {folder}."
        )
    if not needed and oldest_first and free(folder) < LAST_ROOM:
        dropped += _drop(oldest_first[-1])
    return dropped


def _drop(backup: Backup) -> int:
    # the description goes first: what is left of an interrupted deletion does not count as a backup
    backup.beside.unlink(missing_ok=True)
    backup.path.unlink(missing_ok=True)
    return 1


def _remove_parts(place: Path) -> None:
    for left in (*place.glob(f"record-*{PART}*"), *place.glob("record-*.new")):
        left.unlink(missing_ok=True)
