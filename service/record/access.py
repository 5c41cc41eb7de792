"""Accounts, their sessions, and tokens as they are stored: of every secret only its hash."""

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, delete, exists, func, insert, select, update

from service.errors import NotFoundError
from service.record.tables import account, session, token


@dataclass(frozen=True, slots=True)
class AccountRow:
    """Somebody who may log in. password_at: when the password was set last."""

    id: str
    name: str
    password_hash: str
    made_at: datetime
    password_at: datetime


@dataclass(frozen=True, slots=True)
class SessionRow:
    """A browser that is logged in, with the account's name. peer: the address it logged in from."""

    secret_hash: str
    account_id: str
    name: str
    made_at: datetime
    seen_at: datetime
    peer: str


@dataclass(frozen=True, slots=True)
class TokenRow:
    """A device's key. used_at: to the minute."""

    id: str
    name: str
    scope: str
    secret_hash: str
    made_at: datetime
    made_by: str
    used_at: datetime | None = None


def any_account(connection: Connection) -> bool:
    """Whether there is somebody who may log in."""
    return bool(connection.execute(select(exists().where(account.c.id.is_not(None)))).scalar())


def accounts(connection: Connection) -> list[AccountRow]:
    """Every account, newest first."""
    rows = connection.execute(select(account).order_by(account.c.made_at.desc(), account.c.id))
    return [AccountRow(*row) for row in rows]


def account_by_id(connection: Connection, account_id: str) -> AccountRow:
    """One account. NotFoundError."""
    row = connection.execute(select(account).where(account.c.id == account_id)).first()
    if row is None:
        raise NotFoundError(f"There is no account {account_id!r}.")
    return AccountRow(*row)


def add_account(connection: Connection, row: AccountRow) -> None:
    """A new account."""
    connection.execute(
        insert(account).values(
            id=row.id,
            name=row.name,
            password_hash=row.password_hash,
            made_at=row.made_at,
            password_at=row.password_at,
        )
    )


def set_password(connection: Connection, account_id: str, password_hash: str, at: datetime) -> None:
    """Another password."""
    connection.execute(
        update(account).where(account.c.id == account_id).values(password_hash=password_hash, password_at=at)
    )


def rehash(connection: Connection, account_id: str, password_hash: str) -> None:
    """The same password, hashed by newer parameters."""
    connection.execute(update(account).where(account.c.id == account_id).values(password_hash=password_hash))


def remove_account(connection: Connection, account_id: str) -> None:
    """Take an account away with its sessions."""
    end_sessions(connection, account_id)
    connection.execute(delete(account).where(account.c.id == account_id))


_SESSIONS = select(
    session.c.secret_hash,
    session.c.account_id,
    account.c.name,
    session.c.made_at,
    session.c.seen_at,
    session.c.peer,
).join(account)


def session_by_hash(connection: Connection, secret_hash: str) -> SessionRow | None:
    """The session with this secret, or None."""
    row = connection.execute(_SESSIONS.where(session.c.secret_hash == secret_hash)).first()
    return None if row is None else SessionRow(*row)


def sessions_of(connection: Connection, account_id: str) -> list[SessionRow]:
    """The sessions of an account, newest first."""
    rows = connection.execute(
        _SESSIONS.where(session.c.account_id == account_id).order_by(session.c.made_at.desc())
    )
    return [SessionRow(*row) for row in rows]


def add_session(connection: Connection, secret_hash: str, account_id: str, now: datetime, peer: str) -> None:
    """A new session."""
    connection.execute(
        insert(session).values(
            secret_hash=secret_hash, account_id=account_id, made_at=now, seen_at=now, peer=peer
        )
    )


def session_seen(connection: Connection, secret_hash: str, at: datetime) -> None:
    """The session was used."""
    connection.execute(update(session).where(session.c.secret_hash == secret_hash).values(seen_at=at))


def end_session(connection: Connection, secret_hash: str) -> None:
    """End one session."""
    connection.execute(delete(session).where(session.c.secret_hash == secret_hash))


def end_sessions(connection: Connection, account_id: str, but: str | None = None) -> int:
    """End an account's sessions, but not the one with this hash; returns how many ended."""
    wanted = session.c.account_id == account_id
    if but is not None:
        wanted &= session.c.secret_hash != but
    return connection.execute(delete(session).where(wanted)).rowcount


def forget_sessions(connection: Connection, seen_before: datetime, made_before: datetime) -> None:
    """Drop what has ended by itself."""
    connection.execute(
        delete(session).where((session.c.seen_at < seen_before) | (session.c.made_at < made_before))
    )


def tokens(connection: Connection) -> list[TokenRow]:
    """Every token, newest first."""
    rows = connection.execute(select(token).order_by(token.c.made_at.desc(), token.c.id))
    return [TokenRow(*row) for row in rows]


def token_by_hash(connection: Connection, secret_hash: str) -> TokenRow | None:
    """The token with this secret, or None."""
    row = connection.execute(select(token).where(token.c.secret_hash == secret_hash)).first()
    return None if row is None else TokenRow(*row)


def add_token(connection: Connection, row: TokenRow) -> None:
    """A new token."""
    connection.execute(
        insert(token).values(
            id=row.id,
            name=row.name,
            scope=row.scope,
            secret_hash=row.secret_hash,
            made_at=row.made_at,
            made_by=row.made_by,
            used_at=row.used_at,
        )
    )


def token_used(connection: Connection, token_id: str, at: datetime) -> None:
    """The token was used."""
    connection.execute(update(token).where(token.c.id == token_id).values(used_at=at))


def remove_token(connection: Connection, token_id: str) -> None:
    """Revoke a token. NotFoundError."""
    if connection.execute(delete(token).where(token.c.id == token_id)).rowcount == 0:
        raise NotFoundError(f"There is no token {token_id!r}.")


def remove_all_tokens(connection: Connection) -> int:
    """Revoke every token; returns how many there were."""
    count = int(connection.execute(select(func.count()).select_from(token)).scalar_one())
    connection.execute(delete(token))
    return count
