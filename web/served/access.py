"""Coming in, on the running service."""

from collections.abc import Sequence

from fastapi import Request

from service.access.sessions import secret_in
from service.access.who import WHO, Scope, Who
from service.actions import accounts, tokens
from service.actions.desk import Desk
from service.errors import InvalidInputError, Problem
from web.pages.access import ChangeView, PersonView, TokenView

CHANGES_ON_A_PAGE = 100


class AccessPart:
    """What the pages about coming in ask."""

    _desk: Desk

    def has_accounts(self) -> bool:
        """Whether there is an account yet."""
        return accounts.any_account(self._desk)

    def log_in(self, request: Request, name: str, password: str) -> str:
        """A new session; the one this browser had ends."""
        base = request.scope.get("root_path", "")
        before = secret_in(request.headers.get("cookie", ""), request.url.scheme == "https", base)
        return accounts.log_in(self._desk, name, password, _peer(request), before)

    def log_out(self, request: Request, elsewhere: bool) -> None:
        """End this session, or all others."""
        leave = accounts.log_out_elsewhere if elsewhere else accounts.log_out
        leave(self._desk, who_of(request))

    def first_account(self, request: Request, code: str, name: str, password: str) -> str:
        """The first account, by its code."""
        return accounts.make_first_account(self._desk, code, name, password, _peer(request))

    def people(self) -> Sequence[PersonView]:
        """Everybody who may log in."""
        return [
            PersonView(one.id, one.name, one.made_at, one.sessions)
            for one in accounts.every_account(self._desk)
        ]

    def add_person(self, request: Request, name: str, password: str) -> None:
        """Another account."""
        accounts.make_account(self._desk, who_of(request), name, password)

    def remove_person(self, request: Request, account_id: str) -> None:
        """Take an account away."""
        accounts.take_account_away(self._desk, who_of(request), account_id)

    def new_password(self, request: Request, current: str, password: str) -> str:
        """One's own password."""
        return accounts.change_password(self._desk, who_of(request), current, password)

    def tokens(self) -> Sequence[TokenView]:
        """Every token."""
        return [
            TokenView(one.id, one.name, one.scope, one.made_by, one.used_at)
            for one in tokens.every_token(self._desk)
        ]

    def add_token(self, request: Request, name: str, scope: str) -> str:
        """A new token."""
        if scope not in list(Scope):
            raise InvalidInputError(Problem("/scope", "is not known", "Choose one of the three."))
        return tokens.make_token(self._desk, who_of(request), name, Scope(scope)).token

    def remove_token(self, request: Request, token_id: str) -> None:
        """Revoke a token."""
        tokens.revoke_token(self._desk, who_of(request), token_id)

    def changes(self, before: int | None) -> tuple[Sequence[ChangeView], int | None]:
        """Who changed what."""
        found = tokens.some_changes(self._desk, CHANGES_ON_A_PAGE + 1, before)
        shown = [
            ChangeView(one.at, one.who, one.by, one.where, one.did, tuple(one.fields))
            for one in found[:CHANGES_ON_A_PAGE]
        ]
        more = found[CHANGES_ON_A_PAGE - 1].id if len(found) > CHANGES_ON_A_PAGE else None
        return shown, more


def who_of(request: Request) -> Who:
    """Who was let in."""
    who = request.scope.get(WHO)
    assert isinstance(who, Who), "no page is reached without being let in"
    return who


def _peer(request: Request) -> str:
    return request.client.host if request.client else "127.0.0.1"
