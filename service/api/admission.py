"""Who is let in. Looked at before any route, and before anything of a body is read.

Without an account only this machine is served: peer, Host and Origin must all say so. With one, a session's
cookie or a token is needed for all but the login page, the files of the pages, links that acknowledge (their
signature lets them in) and the sign of life.

Requests from other sites change nothing: what a cookie lets in must come from our own Origin, as browsers
say it with every form and script; a form must bring its page's token besides. A token in a header is sent
by no browser of its own accord.
"""

from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import Headers
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from service.access.door import Door
from service.access.hosts import host_of, is_loopback, is_ours
from service.access.sessions import secret_in
from service.access.who import READING, WHO, How, Who, wanted_scope
from service.access.who import Scope as Right
from service.actions.desk import Desk
from service.actions.gate import look
from service.api.forwarding import UNTRUSTED, inner_path, is_forwarding
from service.api.problems import problem_response
from service.errors import GylewatchError
from service.watch.book import BREWER

ALIVE = "/healthz"
READY = "/readyz"
OPEN = ("/static/", "/acknowledge/")
LOGIN = "/login"
PERSONS = ("/api/v1/accounts", "/api/v1/tokens")
"""What only a person may: a token that could make tokens would outlive its own end."""

FOR_TOKENS = ("/api/", "/metrics", READY)


class Admission:
    """Lets in, or answers in words why not; who was let in stands in the scope."""

    def __init__(self, app: ASGIApp, desk: Desk, door: Door) -> None:
        self._app = app
        self._desk = desk
        self._door = door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http" or inner_path(scope) == ALIVE:
            await self._app(scope, receive, send)
            return
        scope[WHO] = None
        try:
            refusal = await self._refusal(scope)
        except GylewatchError as error:
            refusal = problem_response(503, str(error), headers={"Retry-After": "5"})
        await (refusal or self._app)(scope, receive, send)

    async def _refusal(self, scope: Scope) -> Response | None:
        headers = Headers(scope=scope)
        bearer = _bearer(headers)
        session = secret_in(headers.get("cookie", ""), scope["scheme"] == "https", self._door.prefix)
        peer = (scope.get("client") or ("127.0.0.1", 0))[0]
        found = await run_in_threadpool(look, self._desk, peer, session, bearer)
        if not found.any_account:
            if why := stranger(scope):
                return problem_response(401, f"Only this machine is served until there is an account: {why}.")
            scope[WHO] = Who(BREWER, How.MACHINE, Right.MANAGE, peer)
            return None
        if refusal := self._misled(scope, headers):
            return refusal
        scope[WHO] = found.who
        return self._with_accounts(scope, headers, found.who)

    def _misled(self, scope: Scope, headers: Headers) -> Response | None:
        if scope.get(UNTRUSTED):
            by = (scope.get("client") or ("somebody", 0))[0]
            return problem_response(
                403,
                f"The request was forwarded by {by}, which is no proxy that is trusted here. If it is yours, "
                "name its address in GYLEWATCH_PROXIES.",
            )
        hosts = headers.getlist("host")
        host = host_of(hosts[0]) if len(hosts) == 1 else None
        arrived_at = (scope.get("server") or ("", 0))[0]
        if host is None or not is_ours(host, arrived_at, self._door.names):
            return problem_response(
                421,
                "This gylewatch does not go by the host name that was asked for. If it should, add the name "
                "to GYLEWATCH_HOSTS.",
            )
        return None

    def _with_accounts(self, scope: Scope, headers: Headers, who: Who | None) -> Response | None:
        path, method = inner_path(scope), scope["method"]
        unsafe = method not in READING
        if path.startswith(OPEN):
            return None
        if path == LOGIN or (who is not None and who.how is How.SESSION and unsafe):
            if unsafe and not _from_our_own_page(scope, headers, strict=path.startswith("/api/")):
                return problem_response(403, "The request came from a page of another site.")
            return None
        if headers.get("authorization") is not None and who is None:
            return _challenge("The token is not known here: it was mistyped, or revoked.", "invalid_token")
        if who is None:
            return self._ask_who(scope, path, unsafe)
        if who.how is How.TOKEN:
            return _beyond_token(who, method, path)
        return None

    def _ask_who(self, scope: Scope, path: str, unsafe: bool) -> Response | None:
        if path == READY and _is_this_machine(scope):
            return None
        if path.startswith(FOR_TOKENS):
            return _challenge("Log in, or send a token: Authorization: Bearer …")
        to = f"{self._door.prefix}{LOGIN}"
        if not unsafe and path != "/":
            query = scope["query_string"].decode("latin-1")
            to += f"?next={quote(path + ('?' + query if query else ''))}"
        return RedirectResponse(to, 303, {"Cache-Control": "no-store"})


def stranger(scope: Scope) -> str:
    """Why a request is not surely one of this machine's own; an empty text when it is."""
    headers: list[tuple[bytes, bytes]] = scope["headers"]
    peer = scope.get("client")
    if any(is_forwarding(name) for name, _ in headers):
        return "the request was forwarded by a proxy"
    if peer is not None and not is_loopback(peer[0]):
        return f"the request came from {peer[0]}"
    if any(name == b"authorization" for name, _ in headers):
        return "a token was sent, and no token exists yet"
    hosts = [value.decode("latin-1") for name, value in headers if name == b"host"]
    if len(hosts) != 1 or not is_loopback(host_of(hosts[0]) or ""):
        return "the request was for another host name"
    origins = [value.decode("latin-1") for name, value in headers if name == b"origin"]
    if any(origin != f"{scope['scheme']}://{hosts[0]}" for origin in origins):
        return "the request came from a page of another site"
    return ""


def _bearer(headers: Headers) -> str | None:
    kind, _, secret = headers.get("authorization", "").partition(" ")
    if not kind:
        return None
    return secret.strip() if kind.lower() == "bearer" else ""


def _from_our_own_page(scope: Scope, headers: Headers, strict: bool) -> bool:
    """Whether the browser says that a page of ours sent it; strict: it must say so."""
    origins = headers.getlist("origin")
    if origins:
        return origins == [f"{scope['scheme']}://{headers.get('host', '')}"]
    site = headers.get("sec-fetch-site")
    return site in ("same-origin", "none") if site is not None else not strict


def _beyond_token(who: Who, method: str, path: str) -> Response | None:
    if not path.startswith(FOR_TOKENS):
        return problem_response(403, "A token opens the API, not the pages.")
    if path.startswith(PERSONS):
        return problem_response(403, "Accounts and tokens are kept by a person who is logged in.")
    wanted = wanted_scope(method, path)
    if who.may(wanted):
        return None
    return problem_response(
        403,
        f"This token has the scope {who.scope.value}, and this needs {wanted.value}.",
        headers={"WWW-Authenticate": f'Bearer error="insufficient_scope", scope="{wanted.value}"'},
    )


def _challenge(detail: str, error: str = "") -> Response:
    said = f'Bearer realm="gylewatch", error="{error}"' if error else 'Bearer realm="gylewatch"'
    return problem_response(401, detail, headers={"WWW-Authenticate": said})


def _is_this_machine(scope: Scope) -> bool:
    """Whether a program of this machine asks, such as its installer: what is missing is no secret to it."""
    peer, server = scope.get("client"), scope.get("server")
    if peer is None or any(is_forwarding(name) for name, _ in scope["headers"]):
        return False
    return is_loopback(peer[0]) or (server is not None and peer[0] == server[0])
