"""Accounts, tokens, who asks, and who changed what, over HTTP."""

from fastapi import APIRouter, Request, Response

from service.access.sessions import set_cookie
from service.access.who import Scope
from service.actions import accounts, tokens
from service.actions.access_answers import (
    AccountAnswer,
    ChangeAnswer,
    MadeToken,
    NewAccount,
    NewPassword,
    NewToken,
    TokenAnswer,
    WhoAnswer,
)
from service.actions.wire import Page
from service.api.at_hand import AtHand, Caller, made
from service.api.paging import Cursor, Limit, cursor_for, key_in, page_of
from service.errors import InvalidInputError, NotAllowedError, Problem

router = APIRouter(tags=["who may come in"])

NO_STORE = "no-store"


@router.get("/session")
def who_asks(who: Caller) -> WhoAnswer:
    """Who asks, by what, and with which scope."""
    return WhoAnswer(name=who.name, by=who.how.value, scope=who.scope.value)


@router.delete("/session", status_code=204)
def log_out(desk: AtHand, who: Caller, request: Request, response: Response) -> None:
    """End this session."""
    accounts.log_out(desk, who)
    _give(request, response, "")


@router.get("/accounts")
def list_accounts(desk: AtHand, limit: Limit = 100, cursor: Cursor = None) -> Page[AccountAnswer]:
    """Everybody who may log in."""
    items, more = page_of(accounts.every_account(desk), limit, cursor, lambda one: one.id)
    return Page(items=items, next=more)


@router.post("/accounts", status_code=201)
def create_account(desk: AtHand, who: Caller, ask: NewAccount, response: Response) -> AccountAnswer:
    """Another account. The first one is made on the command line, or with the code in the log."""
    answer = accounts.make_account(desk, who, ask.name, ask.password)
    made(response, f"/api/v1/accounts/{answer.id}")
    return answer


@router.get("/accounts/{account_id}")
def read_account(desk: AtHand, account_id: str) -> AccountAnswer:
    """One account."""
    return accounts.one_account(desk, account_id)


@router.post("/accounts/{account_id}/password", status_code=204)
def change_password(
    desk: AtHand, who: Caller, account_id: str, ask: NewPassword, request: Request, response: Response
) -> None:
    """One's own password. Every session of the account ends; the answer brings the cookie of a new one."""
    accounts.one_account(desk, account_id)
    if who.account_id != account_id:
        raise NotAllowedError(
            "Only who knows a password changes it here. One that is forgotten is set on the command line: "
            "gylewatch account password NAME."
        )
    _give(request, response, accounts.change_password(desk, who, ask.current, ask.password))


@router.delete("/accounts/{account_id}", status_code=204)
def delete_account(desk: AtHand, who: Caller, account_id: str) -> None:
    """Take an account away; its sessions end."""
    accounts.take_account_away(desk, who, account_id)


@router.get("/tokens")
def list_tokens(desk: AtHand, limit: Limit = 100, cursor: Cursor = None) -> Page[TokenAnswer]:
    """Every token, without its secret."""
    items, more = page_of(tokens.every_token(desk), limit, cursor, lambda one: one.id)
    return Page(items=items, next=more)


@router.post("/tokens", status_code=201)
def create_token(desk: AtHand, who: Caller, ask: NewToken, response: Response) -> MadeToken:
    """A new token. Its secret is in this answer and nowhere else."""
    answer = tokens.make_token(desk, who, ask.name, Scope(ask.scope))
    made(response, f"/api/v1/tokens/{answer.id}")
    response.headers["Cache-Control"] = NO_STORE
    return answer


@router.get("/tokens/{token_id}")
def read_token(desk: AtHand, token_id: str) -> TokenAnswer:
    """One token, without its secret."""
    return tokens.one_token(desk, token_id)


@router.delete("/tokens/{token_id}", status_code=204)
def delete_token(desk: AtHand, who: Caller, token_id: str) -> None:
    """Revoke a token."""
    tokens.revoke_token(desk, who, token_id)


@router.get("/changes")
def list_changes(desk: AtHand, limit: Limit = 100, cursor: Cursor = None) -> Page[ChangeAnswer]:
    """Who changed what, newest first; the newest 10,000 changes are kept."""
    before = None
    if cursor is not None:
        text = key_in(cursor)
        if not text.isdigit() or len(text) > 15:
            raise InvalidInputError(
                Problem("/cursor", "was not given out here", "Begin again without a cursor.")
            )
        before = int(text)
    items = tokens.some_changes(desk, limit + 1, before)
    more = cursor_for(str(items[limit - 1].id)) if len(items) > limit else None
    return Page(items=items[:limit], next=more)


def _give(request: Request, response: Response, secret: str) -> None:
    prefix = request.scope.get("root_path", "")
    response.headers["Set-Cookie"] = set_cookie(secret, request.url.scheme == "https", prefix)
