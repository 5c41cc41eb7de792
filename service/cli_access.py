"""The commands that let people and devices in: `gylewatch account …` and `gylewatch token …`.

They write into the record beside a running watch, which sees the change with the next request.
"""

import getpass
import json
import os
import pwd
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from enum import StrEnum
from typing import Annotated, TypeVar

import typer
from sqlalchemy import Connection

from service.access.keys import new_token
from service.access.names import alike, checked_name
from service.access.passwords import Passwords, checked
from service.access.who import How, Scope
from service.actions.accounts import row_for, store_account
from service.actions.tokens import change_answer, token_answer
from service.actions.tokens import row_for as token_row_for
from service.errors import ConflictError, GylewatchError, InvalidInputError, NotFoundError
from service.record import access as stored
from service.record.access import AccountRow
from service.record.audit import AuditRow, add_audit, audit_rows
from service.record.beside import write_beside
from service.record.database import only_reading
from service.settings import Settings, load_settings

account_app = typer.Typer(
    no_args_is_help=True, help="Who may log in: add, list, change the password, remove."
)
token_app = typer.Typer(no_args_is_help=True, help="Keys for devices and scripts: add, list, remove.")

Json = Annotated[bool, typer.Option("--json", help="Say it as JSON, for machines.")]
Name = Annotated[str, typer.Argument(help="What it is called.")]
T = TypeVar("T")


class ScopeName(StrEnum):
    """What a token is good for."""

    READ = "read"
    PUSH = "push"
    MANAGE = "manage"


class NotGivenError(GylewatchError):
    """A name or password that cannot be used."""


@account_app.command("add")
def add(name: Name) -> None:
    """Make an account. The password is asked for, or read from the standard input: one line."""
    settings = load_settings()
    plain = _in_words(lambda: checked_name(name))
    password = _asked_password(plain)
    with_hash = _in_words(lambda: row_for(Passwords(), _accounts(settings), plain, password, _now()))
    _write(settings, f"made the account {plain}", lambda c: store_account(c, with_hash))
    typer.echo(f"{plain} may log in now.")


@account_app.command("list")
def list_accounts(as_json: Json = False) -> None:
    """Everybody who may log in."""
    rows = _accounts(load_settings())
    if as_json:
        typer.echo(json.dumps([{"id": r.id, "name": r.name, "made_at": _at(r.made_at)} for r in rows]))
    elif not rows:
        typer.echo("There is no account: whoever is on this machine may change everything.")
    else:
        for row in rows:
            typer.echo(f"{row.name}, since {row.made_at:%Y-%m-%d}")


@account_app.command("password")
def password(name: Name) -> None:
    """Set an account's password anew; it is logged out everywhere."""
    settings = load_settings()
    row = _called(_accounts(settings), name)
    fresh = Passwords().hash(_in_words(lambda: checked(_asked_password(row.name))))

    def work(connection: Connection) -> None:
        stored.account_by_id(connection, row.id)
        stored.set_password(connection, row.id, fresh, _now())
        stored.end_sessions(connection, row.id)

    _write(settings, f"set the password of {row.name}", work)
    typer.echo(f"{row.name} has a new password, and is logged out everywhere.")


@account_app.command("remove")
def remove(
    name: Name,
    last: Annotated[
        bool, typer.Option("--last", help="Also the last one: tokens go too, and this machine is open.")
    ] = False,
) -> None:
    """Take an account away; it is logged out everywhere."""
    settings = load_settings()
    row = _called(_accounts(settings), name)

    def work(connection: Connection) -> None:
        if len(stored.accounts(connection)) == 1:
            if not last:
                raise ConflictError(
                    f"{row.name} is the last account. Without one, whoever is on this machine may change "
                    "everything, nobody else is let in, and tokens end. If you want that, say --last."
                )
            stored.remove_all_tokens(connection)
        stored.remove_account(connection, row.id)

    _write(settings, f"took the account {row.name} away", work)
    typer.echo(f"{row.name} is taken away.")


@account_app.command("changes")
def changes(
    limit: Annotated[int, typer.Option(min=1, max=10_000, help="How many.")] = 50, as_json: Json = False
) -> None:
    """Who changed what, newest first."""
    settings = load_settings()
    with only_reading(settings.data_dir, settings.database_url) as connection:
        found = [change_answer(row) for row in audit_rows(connection, limit, None)]
    if as_json:
        typer.echo(json.dumps([one.model_dump(mode="json") for one in found]))
        return
    for one in found:
        fields = f" ({', '.join(one.fields)})" if one.fields else ""
        typer.echo(f"{one.at:%Y-%m-%d %H:%M:%S} UTC  {one.who}, {one.by}, {one.where}: {one.did}{fields}")


@token_app.command("add")
def add_token(
    name: Name,
    scope: Annotated[
        ScopeName, typer.Option(help="read: look at everything. push: post samples. manage: everything.")
    ],
    as_json: Json = False,
) -> None:
    """Make a token. It is shown this once and cannot be shown again."""
    settings = load_settings()
    plain = _in_words(lambda: checked_name(name))
    secret = new_token()

    def work(connection: Connection) -> stored.TokenRow:
        row = token_row_for(connection, plain, Scope(scope.value), secret, _now(), "the command line")
        stored.add_token(connection, row)
        return row

    row = _write(settings, f"made the token {plain} with scope {scope.value}", work)
    if as_json:
        typer.echo(json.dumps({**token_answer(row).model_dump(mode="json"), "token": secret}))
    else:
        typer.echo(secret)
        typer.echo("Keep it now: it is not shown again. Send it as Authorization: Bearer TOKEN.", err=True)


@token_app.command("list")
def list_tokens(as_json: Json = False) -> None:
    """Every token with its scope and last use."""
    settings = load_settings()
    try:
        with only_reading(settings.data_dir, settings.database_url) as connection:
            found = [token_answer(row) for row in stored.tokens(connection)]
    except NotFoundError:
        found = []
    if as_json:
        typer.echo(json.dumps([one.model_dump(mode="json") for one in found]))
        return
    for one in found:
        used = "never used" if one.used_at is None else f"last used {one.used_at:%Y-%m-%d %H:%M} UTC"
        typer.echo(f"{one.name}: {one.scope}, {used}, made by {one.made_by}")


@token_app.command("remove")
def remove_token(name: Name) -> None:
    """Revoke a token: nobody is let in by it any more."""

    def work(connection: Connection) -> str:
        found = next((one for one in stored.tokens(connection) if alike(one.name, name)), None)
        if found is None:
            raise NotFoundError(f"There is no token {name!r}.")
        stored.remove_token(connection, found.id)
        return found.name

    removed = _write(load_settings(), f"revoked the token {name}", work)
    typer.echo(f"{removed} is revoked.")


def _write(settings: Settings, did: str, work: Callable[[Connection], T]) -> T:
    """Do it, and write down that it was done from the command line, and by which user of the system."""

    def both(connection: Connection) -> T:
        done = work(connection)
        add_audit(connection, AuditRow(_now(), _user(), How.COMMAND.value, "this machine", did))
        return done

    return write_beside(settings.data_dir, settings.database_url, both)


def _accounts(settings: Settings) -> list[AccountRow]:
    try:
        with only_reading(settings.data_dir, settings.database_url) as connection:
            return stored.accounts(connection)
    except NotFoundError:
        return []


def _called(rows: list[AccountRow], name: str) -> AccountRow:
    found = next((row for row in rows if alike(row.name, name)), None)
    if found is None:
        raise NotFoundError(f"There is no account {name!r}; `gylewatch account list` shows who there is.")
    return found


def _asked_password(name: str) -> str:
    if not sys.stdin.isatty():
        line = sys.stdin.readline().rstrip("\r\n")
        if not line:
            raise NotGivenError("No password came on the standard input.")
        return line
    first = getpass.getpass(f"New password for {name}: ")
    if getpass.getpass("Once more: ") != first:
        raise NotGivenError("The two were not the same; nothing was changed.")
    return first


def _in_words(check: Callable[[], T]) -> T:
    """A check whose problems become one sentence for the command line."""
    try:
        return check()
    except InvalidInputError as wrong:
        first = wrong.problems[0]
        raise NotGivenError(f"The {first.field.removeprefix('/')} {first.problem}. {first.remedy}") from None


def _user() -> str:
    try:
        return pwd.getpwuid(os.getuid()).pw_name
    except KeyError:
        return f"user {os.getuid()}"


def _now() -> datetime:
    return datetime.now(UTC)


def _at(at: datetime) -> str:
    return at.isoformat(timespec="seconds").replace("+00:00", "Z")
