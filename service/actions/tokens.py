"""Tokens of devices and scripts, and the trail of who changed what."""

from datetime import datetime

from sqlalchemy import Connection

from service.access.keys import hashed, new_token
from service.access.names import alike, checked_name
from service.access.who import Scope, Who
from service.actions.access_answers import ChangeAnswer, MadeToken, TokenAnswer
from service.actions.accounts import told
from service.actions.desk import Desk, short_id
from service.errors import ConflictError, NotFoundError
from service.record import access as stored
from service.record.access import TokenRow
from service.record.audit import AuditRow, audit_rows


def every_token(desk: Desk) -> list[TokenAnswer]:
    """Every token, newest first; what they are is not known here any more."""
    with desk.record.reading() as connection:
        return [token_answer(row) for row in stored.tokens(connection)]


def one_token(desk: Desk, token_id: str) -> TokenAnswer:
    """One token. NotFoundError."""
    found = next((one for one in every_token(desk) if one.id == token_id), None)
    if found is None:
        raise NotFoundError(f"There is no token {token_id!r}.")
    return found


def make_token(desk: Desk, who: Who, name: str, scope: Scope) -> MadeToken:
    """A new token. InvalidInputError; ConflictError when the name is taken or there is no account yet."""
    plain = checked_name(name)
    secret = new_token()

    def work(connection: Connection) -> TokenRow:
        row = row_for(connection, plain, scope, secret, desk.now(), who.name)
        stored.add_token(connection, row)
        return row

    row = told(desk, who, f"made the token {plain} with scope {scope.value}", work)
    return MadeToken(**token_answer(row).model_dump(), token=secret)


def row_for(connection: Connection, name: str, scope: Scope, secret: str, now: datetime, by: str) -> TokenRow:
    """A row for a new token. ConflictError when the name is taken, or there is no account yet."""
    if not stored.any_account(connection):
        raise ConflictError(
            "There is no account yet, so whoever is on this machine needs no token and nobody else is let "
            "in. Make an account first: gylewatch account add NAME."
        )
    taken = stored.tokens(connection)
    if any(alike(one.name, name) for one in taken):
        raise ConflictError(f"There is a token {name} already; take another name, or revoke that one first.")
    return TokenRow(
        short_id(name, [one.id for one in taken], "token"), name, scope.value, hashed(secret), now, by
    )


def revoke_token(desk: Desk, who: Who, token_id: str) -> None:
    """Revoke a token: from now on nobody is let in by it. NotFoundError."""
    name = one_token(desk, token_id).name
    told(desk, who, f"revoked the token {name}", lambda c: stored.remove_token(c, token_id))


def some_changes(desk: Desk, limit: int, before: int | None) -> list[ChangeAnswer]:
    """Who changed what, newest first."""
    with desk.record.reading() as connection:
        return [change_answer(row) for row in audit_rows(connection, limit, before)]


def token_answer(row: TokenRow) -> TokenAnswer:
    """A token as it is answered."""
    return TokenAnswer(
        id=row.id,
        name=row.name,
        scope=row.scope,
        made_at=row.made_at,
        made_by=row.made_by,
        used_at=row.used_at,
    )


def change_answer(row: AuditRow) -> ChangeAnswer:
    """A change as it is answered."""
    return ChangeAnswer(
        id=row.id or 0,
        at=row.at,
        who=row.who,
        by=row.how,
        where=row.peer,
        did=row.did,
        fields=list(row.fields),
    )
