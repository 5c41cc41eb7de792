"""Coming in: the login, the first account, who may come in, and who changed what."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from service.access.sessions import set_cookie
from service.errors import GylewatchError, InvalidInputError, NotAdmittedError, Problem, TooSoonError
from web.counter import Counter
from web.form import Form
from web.house import PageHouse
from web.rendering import Renderer, back_to
from web.typed import Values

SCOPES = (
    ("read", "look at everything (read)"),
    ("push", "post samples only (push)"),
    ("manage", "change everything (manage)"),
)
NOT_THE_SAME = Problem("/again", "is not the same as the first", "Type the password once more.")


@dataclass(frozen=True, slots=True)
class PersonView:
    """Somebody who may log in. sessions: in how many browsers they are."""

    id: str
    name: str
    made_at: datetime
    sessions: int


@dataclass(frozen=True, slots=True)
class TokenView:
    """A device's key, without its secret."""

    id: str
    name: str
    scope: str
    made_by: str
    used_at: datetime | None


@dataclass(frozen=True, slots=True)
class ChangeView:
    """One change. by: what they came in by. where: from which address."""

    at: datetime
    who: str
    by: str
    where: str
    did: str
    fields: tuple[str, ...]


class AccessHouse(PageHouse, Protocol):
    """What the pages about coming in need."""

    def has_accounts(self) -> bool:
        """Whether there is an account yet."""
        ...

    def log_in(self, request: Request, name: str, password: str) -> str:
        """The secret of a new session. NotAdmittedError, TooSoonError."""
        ...

    def log_out(self, request: Request, elsewhere: bool) -> None:
        """Ends this session, or all others."""
        ...

    def first_account(self, request: Request, code: str, name: str, password: str) -> str:
        """The secret of a session of the new account. NotAdmittedError, InvalidInputError, ConflictError."""
        ...

    def people(self) -> Sequence[PersonView]:
        """Everybody who may log in."""
        ...

    def add_person(self, request: Request, name: str, password: str) -> None:
        """Another account. InvalidInputError, ConflictError."""
        ...

    def remove_person(self, request: Request, account_id: str) -> None:
        """Takes an account away. ConflictError for the last one."""
        ...

    def new_password(self, request: Request, current: str, password: str) -> str:
        """One's own password; the secret of a new session. NotAdmittedError, InvalidInputError."""
        ...

    def tokens(self) -> Sequence[TokenView]:
        """Every token."""
        ...

    def add_token(self, request: Request, name: str, scope: str) -> str:
        """The secret of a new token. InvalidInputError, ConflictError."""
        ...

    def remove_token(self, request: Request, token_id: str) -> None:
        """Revokes a token."""
        ...

    def changes(self, before: int | None) -> tuple[Sequence[ChangeView], int | None]:
        """Who changed what, newest first, and the number before which it goes on."""
        ...


def router(house: AccessHouse, render: Renderer, counter: Counter) -> APIRouter:
    """The pages and their forms."""
    routes = APIRouter(include_in_schema=False)

    def outside(request: Request, template: str, form: Form, status: int = 200, to: str = "/") -> Response:
        """A page for somebody who is not let in: it shows nothing of the record."""
        page = render.page(request, template, status=status, standing=(), form=form, to=to)
        if status == 429:
            page.headers["Retry-After"] = form.values.get("after_s", "1")
        return page

    def inside(
        request: Request, form: Form, status: int = 200, which: str = "", made: str = ""
    ) -> HTMLResponse:
        return render.page(
            request,
            "accounts.html",
            status=status,
            form=form,
            which=which,
            made=made,
            people=house.people(),
            tokens=house.tokens(),
            scopes=SCOPES,
        )

    @routes.get("/login")
    def login(request: Request, next: str = "/") -> Response:
        if not house.has_accounts():
            return back_to(request, "/")
        return outside(request, "login.html", Form(), to=next)

    @routes.post("/login")
    def come_in(request: Request, values: Values) -> Response:
        to = values.get("next", "/")
        try:
            secret = house.log_in(request, values.get("name", ""), values.get("password", ""))
        except (NotAdmittedError, TooSoonError) as refused:
            form, status = _refused(values, refused)
            return outside(request, "login.html", form, status, to)
        return _with_session(request, back_to(request, to), secret)

    @routes.post("/logout")
    def go(request: Request, values: Values) -> Response:
        def act(_who: str) -> str:
            house.log_out(request, elsewhere=False)
            return "/login"

        return _with_session(request, counter.take(request, values, act), "")

    @routes.post("/logout-elsewhere")
    def go_elsewhere(request: Request, values: Values) -> Response:
        def act(_who: str) -> str:
            house.log_out(request, elsewhere=True)
            return "/accounts"

        return counter.take(request, values, act)

    @routes.get("/first-account")
    def first(request: Request) -> Response:
        if house.has_accounts():
            return back_to(request, "/accounts")
        return outside(request, "first_account.html", Form())

    @routes.post("/first-account")
    def begin(request: Request, values: Values) -> Response:
        if house.has_accounts():
            return back_to(request, "/accounts")
        if house.admit(request, values.get("token", "")) is None:
            return render.stranger(request, values)
        try:
            password = _twice(values)
            secret = house.first_account(request, values.get("code", ""), values.get("name", ""), password)
        except InvalidInputError as wrong:
            return outside(request, "first_account.html", Form("", values, wrong.problems), 422)
        except GylewatchError as refused:
            form, status = _refused(values, refused)
            return outside(request, "first_account.html", form, status)
        return _with_session(request, back_to(request, "/accounts"), secret)

    @routes.get("/accounts")
    def accounts(request: Request) -> Response:
        return inside(request, Form())

    @routes.post("/accounts")
    def add(request: Request, values: Values) -> Response:
        def act(_who: str) -> str:
            house.add_person(request, values.get("name", ""), _twice(values))
            return "/accounts"

        return counter.take(request, values, act, lambda f, status: inside(request, f, status, "account"))

    @routes.post("/accounts/password")
    def password(request: Request, values: Values) -> Response:
        secret: list[str] = []

        def act(_who: str) -> str:
            try:
                secret.append(house.new_password(request, values.get("current", ""), _twice(values)))
            except (NotAdmittedError, TooSoonError) as refused:
                raise InvalidInputError(Problem("/current", str(refused))) from None
            return "/accounts"

        answer = counter.take(request, values, act, lambda f, status: inside(request, f, status, "password"))
        return _with_session(request, answer, secret[0]) if secret else answer

    @routes.post("/accounts/{account_id}/remove")
    def remove(request: Request, account_id: str, values: Values) -> Response:
        def act(_who: str) -> str:
            house.remove_person(request, account_id)
            return "/accounts"

        return counter.take(request, values, act)

    @routes.post("/tokens")
    def add_token(request: Request, values: Values) -> Response:
        made: list[str] = []

        def act(_who: str) -> str:
            made.append(house.add_token(request, values.get("name", ""), values.get("scope", "")))
            return "/accounts"

        answer = counter.take(request, values, act, lambda f, status: inside(request, f, status, "token"))
        return inside(request, Form(), made=made[0]) if made else answer

    @routes.post("/tokens/{token_id}/remove")
    def remove_token(request: Request, token_id: str, values: Values) -> Response:
        def act(_who: str) -> str:
            house.remove_token(request, token_id)
            return "/accounts"

        return counter.take(request, values, act)

    @routes.get("/changes")
    def changes(request: Request, before: int | None = None) -> Response:
        found, following = house.changes(before)
        return render.page(request, "changes.html", changes=found, following=following)

    return routes


def _refused(values: Values, refused: GylewatchError) -> tuple[Form, int]:
    if isinstance(refused, TooSoonError):
        return Form("", {**values, "after_s": str(refused.after_s)}, (Problem("", str(refused)),)), 429
    status = 401 if isinstance(refused, NotAdmittedError) else 409
    return Form("", values, (Problem("", str(refused)),)), status


def _twice(values: Values) -> str:
    if values.get("password", "") != values.get("again", ""):
        raise InvalidInputError(NOT_THE_SAME)
    return values.get("password", "")


def _with_session(request: Request, response: Response, secret: str) -> Response:
    """The answer with the cookie of a session, or with an empty one that takes it back."""
    if isinstance(response, RedirectResponse):
        base = request.scope.get("root_path", "")
        response.headers["Set-Cookie"] = set_cookie(secret, request.url.scheme == "https", base)
        response.headers["Cache-Control"] = "no-store"
    return response
