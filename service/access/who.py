"""Who asks, and what they may: the scopes, and which of them a request needs."""

import re
from dataclasses import dataclass
from enum import StrEnum

WHO = "gylewatch.who"
"""Under this name a request carries its Who (in the ASGI scope)."""


class Scope(StrEnum):
    """What a token is good for. `manage` may everything that the others may, and change things."""

    READ = "read"
    PUSH = "push"
    MANAGE = "manage"


class How(StrEnum):
    """By what somebody was let in."""

    SESSION = "session"
    TOKEN = "token"
    MACHINE = "this machine"
    COMMAND = "command"


@dataclass(frozen=True, slots=True)
class Who:
    """Somebody who was let in.

    name: an account's name, or a token's. peer: the address they come from. Of a session: account_id and
    form_token (what its forms bring back). secret_hash: of the session or token.
    """

    name: str
    how: How
    scope: Scope
    peer: str
    account_id: str | None = None
    secret_hash: str | None = None
    form_token: str | None = None

    @property
    def is_person(self) -> bool:
        """Whether this is a person at a page, and no device with a token."""
        return self.how is not How.TOKEN

    def may(self, wanted: Scope) -> bool:
        """Whether the scope covers what is wanted."""
        return self.scope in (Scope.MANAGE, wanted)


SAMPLES = re.compile(r"/api/v1/probes/[^/]+/samples")
COMPUTING = re.compile(r"/api/v1/(brewing/[^/]+|plans/rehearse|batches/[^/]+/priming)")
"""POSTs that work something out and change nothing."""

READING = ("GET", "HEAD", "OPTIONS")


def wanted_scope(method: str, path: str) -> Scope:
    """The scope that a request needs; path: without the proxy's prefix."""
    if method in READING or (method == "POST" and COMPUTING.fullmatch(path)):
        return Scope.READ
    if method == "POST" and SAMPLES.fullmatch(path):
        return Scope.PUSH
    return Scope.MANAGE
