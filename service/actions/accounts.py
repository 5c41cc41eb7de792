"""Accounts and sessions: make, log in and out, change the password, take away.

Everything here is written down with who did it. An account may do everything; there are no ranks among
people who brew together. What the command line does, the owner of the machine does.
"""

from collections.abc import Callable
from datetime import datetime
from typing import TypeVar

from sqlalchemy import Connection

from service.access.keys import hashed, new_session
from service.access.names import alike, checked_name
from service.access.passwords import Passwords, checked
from service.access.sessions import ABSOLUTE, IDLE
from service.access.who import How, Scope, Who
from service.actions.access_answers import AccountAnswer
from service.actions.desk import Desk, short_id
from service.errors import ConflictError, NotAdmittedError, NotAllowedError
from service.record import access as stored
from service.record.access import AccountRow
from service.record.audit import AuditRow, add_audit, attributed

T = TypeVar("T")

WRONG = "That name and password do not belong together."


def any_account(desk: Desk) -> bool:
    """Whether there is an account yet."""
    with desk.record.reading() as connection:
        return stored.any_account(connection)


def every_account(desk: Desk) -> list[AccountAnswer]:
    """Every account, newest first, with its sessions."""
    now = desk.now()
    with desk.record.reading() as connection:
        return [
            AccountAnswer(
                id=row.id,
                name=row.name,
                made_at=row.made_at,
                password_at=row.password_at,
                sessions=sum(
                    now - one.seen_at <= IDLE and now - one.made_at <= ABSOLUTE
                    for one in stored.sessions_of(connection, row.id)
                ),
            )
            for row in stored.accounts(connection)
        ]


def one_account(desk: Desk, account_id: str) -> AccountAnswer:
    """One account. NotFoundError."""
    with desk.record.reading() as connection:
        stored.account_by_id(connection, account_id)
    return next(one for one in every_account(desk) if one.id == account_id)


def make_account(desk: Desk, by: Who, name: str, password: str) -> AccountAnswer:
    """Another account. InvalidInputError, ConflictError for a name that is taken.

    The first one is made with a code, or on the command line.
    """
    if not any_account(desk):
        raise NotAllowedError(
            "The first account is made on the page /first-account with the code that the log told at the "
            "start, or on the command line: gylewatch account add NAME."
        )
    row = new_row(desk, name, password)
    told(desk, by, f"made the account {row.name}", lambda c: store_account(c, row))
    return one_account(desk, row.id)


def make_first_account(desk: Desk, code: str, name: str, password: str, peer: str) -> str:
    """The first account, by the code from the log; returns the secret of a session that is logged in.

    ConflictError when there is one already, NotAdmittedError for a wrong code, TooSoonError.
    """
    if any_account(desk):
        raise ConflictError("There is an account already: log in with it.")
    desk.access.delays.begin("the first code", peer, known=False)
    if not desk.access.code.fits(code):
        raise NotAdmittedError(
            "That is not the code. It is in the log of the last start: journalctl -u gylewatch | grep code"
        )
    desk.access.delays.succeeded("the first code", peer)
    row = new_row(desk, name, password)
    secret, now = new_session(), desk.now()

    def work(connection: Connection) -> None:
        if stored.any_account(connection):
            raise ConflictError("There is an account already: log in with it.")
        store_account(connection, row)
        stored.add_session(connection, hashed(secret), row.id, now, peer)

    by = Who(row.name, How.SESSION, Scope.MANAGE, peer)
    told(desk, by, f"made the first account, {row.name}, with the code", work)
    desk.access.code.spend()
    return secret


def log_in(desk: Desk, name: str, password: str, peer: str, before: str | None = None) -> str:
    """The secret of a new session. NotAdmittedError, TooSoonError.

    before: the secret of the session that this browser had; it ends.
    """
    with desk.record.reading() as connection:
        row = next((one for one in stored.accounts(connection) if alike(one.name, name.strip())), None)
        known = row is not None and any(one.peer == peer for one in stored.sessions_of(connection, row.id))
    desk.access.delays.begin(name.strip(), peer, known)
    passwords = desk.access.passwords
    if not passwords.fits(None if row is None else row.password_hash, password) or row is None:
        _note_refusal(desk, None if row is None else row.name, peer)
        raise NotAdmittedError(WRONG)
    desk.access.delays.succeeded(name.strip(), peer)
    secret, now = new_session(), desk.now()
    fresh = passwords.hash(password) if passwords.is_old(row.password_hash) else None

    def work(connection: Connection) -> None:
        stored.forget_sessions(connection, now - IDLE, now - ABSOLUTE)
        if before is not None:
            stored.end_session(connection, hashed(before))
        if stored.account_by_id(connection, row.id).password_hash != row.password_hash:
            raise NotAdmittedError(WRONG)  # it was changed in this very moment
        if fresh is not None:
            stored.rehash(connection, row.id, fresh)
        stored.add_session(connection, hashed(secret), row.id, now, peer)

    told(desk, Who(row.name, How.SESSION, Scope.MANAGE, peer), "logged in", work)
    return secret


def log_out(desk: Desk, who: Who) -> None:
    """End this session."""
    if who.secret_hash is not None:
        ended = who.secret_hash
        told(desk, who, "logged out", lambda c: stored.end_session(c, ended))


def log_out_elsewhere(desk: Desk, who: Who) -> None:
    """End all other sessions of this account."""
    account_id = _session_of(who)
    told(
        desk,
        who,
        "ended all other sessions",
        lambda c: stored.end_sessions(c, account_id, but=who.secret_hash),
    )


def change_password(desk: Desk, who: Who, current: str, password: str) -> str:
    """One's own password. Every session ends; returns the secret of a new one.

    NotAdmittedError when the current one is wrong, TooSoonError, InvalidInputError.
    """
    account_id = _session_of(who)
    with desk.record.reading() as connection:
        row = stored.account_by_id(connection, account_id)
    desk.access.delays.begin(row.name, who.peer, known=True)
    if not desk.access.passwords.fits(row.password_hash, current):
        _note_refusal(desk, row.name, who.peer)
        raise NotAdmittedError("The current password is not right.")
    desk.access.delays.succeeded(row.name, who.peer)
    fresh = desk.access.passwords.hash(checked(password))
    secret, now = new_session(), desk.now()

    def work(connection: Connection) -> None:
        stored.set_password(connection, account_id, fresh, now)
        stored.end_sessions(connection, account_id)
        stored.add_session(connection, hashed(secret), account_id, now, who.peer)

    told(desk, who, "changed the password", work)
    return secret


def take_account_away(desk: Desk, who: Who, account_id: str) -> None:
    """Take an account away; its sessions end. NotFoundError, ConflictError for the last one."""

    def work(connection: Connection) -> None:
        stored.account_by_id(connection, account_id)
        if len(stored.accounts(connection)) == 1:
            raise ConflictError(
                "It is the last account: without one, whoever is on this machine may change everything. If "
                "that is wanted, take it away on the command line: gylewatch account remove NAME --last."
            )
        stored.remove_account(connection, account_id)

    name = one_account(desk, account_id).name
    told(desk, who, f"took the account {name} away", work)


def new_row(desk: Desk, name: str, password: str) -> AccountRow:
    """A new account that is not stored yet; the slow hash is made here, outside of any transaction."""
    with desk.record.reading() as connection:
        taken = stored.accounts(connection)
    return row_for(desk.access.passwords, taken, name, password, desk.now())


def row_for(
    passwords: Passwords, taken: list[AccountRow], name: str, password: str, now: datetime
) -> AccountRow:
    """A row for a name that is not taken. InvalidInputError, ConflictError."""
    plain = checked_name(name)
    checked(password)
    refuse_taken(taken, plain)
    return AccountRow(
        short_id(plain, [one.id for one in taken], "account"), plain, passwords.hash(password), now, now
    )


def refuse_taken(taken: list[AccountRow], name: str) -> None:
    """ConflictError when somebody is called so."""
    if any(alike(one.name, name) for one in taken):
        raise ConflictError(f"There is an account {name} already; take another name.")


def store_account(connection: Connection, row: AccountRow) -> None:
    """Store it, unless the name was taken in the meantime."""
    refuse_taken(stored.accounts(connection), row.name)
    stored.add_account(connection, row)


def told(desk: Desk, who: Who, did: str, work: Callable[[Connection], T]) -> T:
    """Do the work, and write down in the same transaction who did it."""
    row = AuditRow(desk.now(), who.name, who.how.value, who.peer, did)

    def both(connection: Connection) -> T:
        done = work(connection)
        add_audit(connection, row)
        return done

    with attributed(None):
        return desk.record.write(both)


def _note_refusal(desk: Desk, name: str | None, peer: str) -> None:
    """A wrong password is worth knowing; how many there can be is bounded by the delays.

    A name that nobody has is not written down: it may be a password that slipped into the wrong field.
    """
    did = "was refused: wrong password" if name else "was refused: a name that nobody has"
    row = AuditRow(desk.now(), name or "somebody", "nobody", peer, did)
    with attributed(None):
        desk.record.write(lambda c: add_audit(c, row))


def _session_of(who: Who) -> str:
    if who.account_id is None:
        raise NotAllowedError("That is for a person who is logged in.")
    return who.account_id
