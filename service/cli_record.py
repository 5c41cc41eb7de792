"""The commands that keep the record: `gylewatch record …`.

What changes the record shows first what it would do and does it only with --yes.
"""

import gzip
import json
import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from time import monotonic
from typing import IO, Annotated, NoReturn, cast
from zoneinfo import ZoneInfo, available_timezones

import typer

from service.actions.csv_import import read_csv
from service.actions.csv_rows import Decimal, Shape, Unit
from service.actions.secretless import secretless
from service.data_dir import hold
from service.errors import GylewatchError
from service.record.backup.description import FOLDER, Backup, BackupError, backup_at, backups_in
from service.record.backup.making import Outcome, back_up
from service.record.backup.restoring import preview, restore
from service.record.backup.verifying import verify
from service.record.database import only_reading, open_record
from service.record.exporting import export
from service.record.importing import discard, take_in
from service.record.swapping import swap_in
from service.record.taking_over import take_over
from service.settings import Settings, load_settings

record_app = typer.Typer(no_args_is_help=True, help="Keep the record: back it up, check it, bring it back.")

Json = Annotated[bool, typer.Option("--json", help="Say it as JSON, for machines.")]
Yes = Annotated[bool, typer.Option("--yes", help="Do it; without this it is only shown what would be done.")]
ABackup = Annotated[
    Path | None, typer.Argument(help="A backup file; without it the newest in the data folder.")
]


class RefusedError(GylewatchError):
    """A command that cannot be done here."""


@record_app.command("backup")
def backup_command(as_json: Json = False) -> None:
    """Back the record up now, also while the watch runs, and check the copy against the record."""
    settings = _of_files()
    _as_owner(settings.data_dir)
    outcome = back_up(settings.data_dir, settings.backup_to, datetime.now(UTC), threading.Event().wait)
    if as_json:
        typer.echo(json.dumps(_of_outcome(outcome)))
    else:
        typer.echo(f"{outcome.backup.path} is made and whole ({outcome.description.size:,} bytes).")
        if outcome.copy is not None:
            typer.echo(f"It is copied to {outcome.copy}.")
            if _same_disk(outcome.copy, settings.data_dir):
                typer.echo("That is on the same disk: if the disk dies, both are gone.")
        if outcome.dropped:
            typer.echo(f"Older backups deleted: {outcome.dropped}.")
    if outcome.trouble:
        raise RefusedError(outcome.trouble)


@record_app.command("verify")
def verify_command(backup: ABackup = None, as_json: Json = False) -> None:
    """Check a backup: its size and checksum, the database in it, its figures against the record's then."""
    found = _chosen(_of_files().data_dir, backup)
    description = verify(found, threading.Event().wait)
    if as_json:
        typer.echo(json.dumps({"backup": str(found.path), "made_at": description.made_at, "whole": True}))
        return
    typer.echo(f"{found.path} of {description.made_at} is whole.")
    for name, value in sorted(description.figures.items()):
        typer.echo(f"    {name:24} {value:>16,}")


@record_app.command("restore")
def restore_command(backup: ABackup = None, yes: Yes = False) -> None:
    """Put a backup in the record's place. The record in use is set aside first, never deleted."""
    settings = _of_files()
    folder = settings.data_dir
    with hold(folder):
        _as_owner(folder)
        seen = preview(folder, _chosen(folder, backup), threading.Event().wait)
        for sentence in seen.sentences():
            typer.echo(sentence)
        _unless_sure(yes)
        aside = restore(folder, seen, datetime.now(UTC), threading.Event().wait)
    typer.echo("The backup is the record now." + ("" if aside is None else f" The old one is in {aside}."))


@record_app.command("export")
def export_command(
    target: Annotated[Path, typer.Argument(help="The file to make; compressed when it ends in .gz.")],
    with_secrets: Annotated[
        bool,
        typer.Option("--with-secrets", help="Also channels' addresses and passwords; keep the file safe."),
    ] = False,
) -> None:
    """Write the whole installation into one file, also while the watch runs."""
    settings = load_settings()
    if target.exists():
        raise RefusedError(f"{target} is there already; name another file.")
    part = target.with_name(target.name + ".part")
    try:
        with only_reading(settings.data_dir, settings.database_url) as connection, _made(part, target) as out:
            counted = export(connection, out, datetime.now(UTC), None if with_secrets else secretless)
        part.replace(target)
    except OSError as refused:
        raise RefusedError(f"{target} cannot be written: {refused.strerror}.") from None
    finally:
        part.unlink(missing_ok=True)
    typer.echo(f"{target} is made: {sum(counted.values()):,} rows.")
    if not with_secrets:
        typer.echo("Secrets were left out: channels' addresses and passwords, and all accounts and tokens.")


@contextmanager
def _made(part: Path, target: Path) -> Iterator[IO[bytes]]:
    """A new file for its owner alone, on the disk for good when it is left."""
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as file:
        if target.suffix == ".gz":
            with gzip.GzipFile(fileobj=file, mode="wb", compresslevel=1) as packed:
                yield cast(IO[bytes], packed)
        else:
            yield file
        file.flush()
        os.fsync(file.fileno())


@record_app.command("import")
def import_command(
    source: Annotated[Path, typer.Argument(help="A file made by `gylewatch record export`.")],
    yes: Yes = False,
) -> None:
    """Put an exported installation in the place of this one. The record in use is set aside first."""
    settings = load_settings()
    folder = settings.data_dir
    with hold(folder):
        _as_owner(folder)
        try:
            incoming = take_in(folder, source, threading.Event().wait)
            for sentence in incoming.sentences():
                typer.echo(sentence)
            _unless_sure(yes)
            if settings.database_url is None:
                aside = swap_in(folder, incoming.path, datetime.now(UTC))
            else:
                record = open_record(folder, settings.database_url, monotonic)
                try:
                    aside = take_over(record, folder, incoming.path, datetime.now(UTC))
                finally:
                    record.close()
        finally:
            discard(folder)
    typer.echo("It is the record now." + ("" if aside is None else f" The old one is in {aside}."))


@record_app.command("import-csv")
def import_csv_command(
    file: Annotated[Path, typer.Argument(help="A CSV file with a header, in UTF-8.")],
    probe: Annotated[str, typer.Option(help="The id of the pushed probe they are of.")],
    time: Annotated[str, typer.Option(help="The name of the column with the times.")],
    temperature: Annotated[str, typer.Option(help="The name of the column with the temperatures.")],
    unit: Annotated[Unit, typer.Option(help="What the temperatures are in.")] = Unit.CELSIUS,
    decimal: Annotated[Decimal, typer.Option(help="How fractions are written.")] = Decimal.POINT,
    delimiter: Annotated[
        str | None, typer.Option(help="What stands between cells; unset: found out from the first line.")
    ] = None,
    zone: Annotated[
        str | None, typer.Option(help="Whose clock times without an offset are of, such as Europe/Berlin.")
    ] = None,
    time_format: Annotated[
        str | None, typer.Option(help="The form of the times, such as '%d.%m.%Y %H:%M'; unset: ISO 8601.")
    ] = None,
    yes: Yes = False,
) -> None:
    """Take temperatures of another program's CSV into a pushed probe: all of them, or none."""
    settings = load_settings()
    if delimiter is not None and len(delimiter) != 1:
        raise RefusedError("--delimiter must be one character.")
    if zone is not None and zone not in available_timezones():
        raise RefusedError(f"--zone {zone}: must be a name of the tz database, such as Europe/Berlin.")
    shape = Shape(
        time, temperature, unit, decimal, delimiter, None if zone is None else ZoneInfo(zone), time_format
    )
    with hold(settings.data_dir):
        _as_owner(settings.data_dir)
        record = open_record(settings.data_dir, settings.database_url, monotonic)
        try:
            now = datetime.now(UTC)
            with read_csv(record, settings.data_dir, probe, file, shape, now) as found:
                for sentence in found.seen.sentences(found.probe):
                    typer.echo(sentence)
                _unless_sure(yes)
                found.store(now)
        finally:
            record.close()
    typer.echo("They are in the record.")


def _unless_sure(yes: bool) -> None:
    if not yes:
        typer.echo("Nothing was changed. Say --yes to do it.")
        raise typer.Exit(0)


def _of_files() -> Settings:
    settings = load_settings()
    if settings.database_url is not None:
        raise RefusedError(
            "The record is in PostgreSQL, which has tools of its own for this: pg_dump, pg_restore. "
            "`gylewatch record export` and `gylewatch record import` work with it."
        )
    return settings


def _chosen(folder: Path, backup: Path | None) -> Backup:
    if backup is not None:
        return backup_at(backup)
    newest = next(iter(backups_in(folder / FOLDER)), None)
    if newest is None:
        raise BackupError(
            f"There is no backup in {folder / FOLDER}. Make one with `gylewatch record backup`."
        )
    return newest


def _as_owner(folder: Path) -> None:
    """Files made here must be usable by the service, which runs as the record's owner."""
    record = folder / "record.db"
    if record.exists() and record.stat().st_uid != os.geteuid():
        _refuse_user(record)


def _refuse_user(record: Path) -> NoReturn:
    raise RefusedError(
        f"{record} belongs to {record.owner()}, and what is made here must too. "
        f"Run it as that user: sudo -u {record.owner()} gylewatch record …"
    )


def _same_disk(a: Path, b: Path) -> bool:
    return a.stat().st_dev == b.stat().st_dev


def _of_outcome(outcome: Outcome) -> dict[str, object]:
    return {
        "backup": str(outcome.backup.path),
        "made_at": outcome.description.made_at,
        "bytes": outcome.description.size,
        "sha256": outcome.description.sha256,
        "copy": None if outcome.copy is None else str(outcome.copy),
        "trouble": outcome.trouble or None,
        "dropped": outcome.dropped,
    }
