"""Looking up who asks: by the cookie of a session, or by a token."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection

from service.access.keys import form_token, hashed
from service.access.sessions import SEEN_EVERY, USED_EVERY, is_over
from service.access.who import How, Scope, Who
from service.actions.desk import Desk
from service.errors import UnavailableError
from service.record import access as stored
from service.record.access import SessionRow, TokenRow
from service.record.audit import attributed


@dataclass(frozen=True, slots=True)
class Look:
    """any_account: whether there is an account at all. who: whoever the cookie or the token belongs to."""

    any_account: bool
    who: Who | None = None


def look(desk: Desk, peer: str, session_secret: str | None, token_secret: str | None) -> Look:
    """Who asks. A token goes before a session; that it was used is noted now and then."""
    now = desk.now()
    with desk.record.reading() as connection:
        if not stored.any_account(connection):
            return Look(False)
        secret = session_secret if token_secret is None else token_secret
        found = hashed(secret or "")
        token = None if token_secret is None else stored.token_by_hash(connection, found)
        session = None if token_secret is not None else stored.session_by_hash(connection, found)
    if token is not None:
        _note_use(desk, token, now)
        return Look(True, Who(token.name, How.TOKEN, Scope(token.scope), peer, secret_hash=found))
    if session is None or session_secret is None or is_over(session.made_at, session.seen_at, now):
        return Look(True)
    _note_sight(desk, session, now)
    return Look(
        True,
        Who(
            session.name,
            How.SESSION,
            Scope.MANAGE,
            peer,
            account_id=session.account_id,
            secret_hash=session.secret_hash,
            form_token=form_token(session_secret),
        ),
    )


def is_still_in(desk: Desk, who: Who) -> bool:
    """Whether somebody who was let in still would be: what they came in by has not ended or been revoked."""
    now = desk.now()
    with desk.record.reading() as connection:
        if who.how is How.MACHINE:
            return not stored.any_account(connection)
        if who.how is How.TOKEN:
            return stored.token_by_hash(connection, who.secret_hash or "") is not None
        found = stored.session_by_hash(connection, who.secret_hash or "")
    return found is not None and not is_over(found.made_at, found.seen_at, now)


def _note_use(desk: Desk, token: TokenRow, now: datetime) -> None:
    if token.used_at is not None and now - token.used_at < USED_EVERY:
        return
    _noted(desk, lambda c: stored.token_used(c, token.id, now))


def _note_sight(desk: Desk, session: SessionRow, now: datetime) -> None:
    if now - session.seen_at < SEEN_EVERY:
        return
    _noted(desk, lambda c: stored.session_seen(c, session.secret_hash, now))


def _noted(desk: Desk, work: Callable[[Connection], None]) -> None:
    """Write it down if that can be done: nobody is kept out by a disk that is full."""
    try:
        with attributed(None):
            desk.record.write(work, wait_s=5.0)
    except UnavailableError:
        return
