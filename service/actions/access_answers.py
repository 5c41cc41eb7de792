"""Who may come in and who changed what, as it is asked for and answered."""

from typing import Literal

from pydantic import Field

from service.actions.wire import Answer, Ask, Instant


class NewAccount(Ask):
    """Another account."""

    name: str = Field(max_length=200)
    password: str = Field(max_length=1000)


class NewPassword(Ask):
    """One's own password, changed."""

    current: str = Field(max_length=1000)
    password: str = Field(max_length=1000)


class NewToken(Ask):
    """A token for a device or a script."""

    name: str = Field(max_length=200)
    scope: Literal["read", "push", "manage"]


class AccountAnswer(Answer):
    """An account. sessions: in how many browsers it is logged in."""

    id: str
    name: str
    made_at: Instant
    password_at: Instant
    sessions: int


class TokenAnswer(Answer):
    """A token without its secret. used_at: to the minute."""

    id: str
    name: str
    scope: str
    made_at: Instant
    made_by: str
    used_at: Instant | None


class MadeToken(TokenAnswer):
    """A token with its secret, which is shown this once."""

    token: str


class WhoAnswer(Answer):
    """Who asks. by: `session`, `token` or `this machine`."""

    name: str
    by: str
    scope: str


class ChangeAnswer(Answer):
    """One change. by: `session`, `token`, `this machine`, `command` or `nobody`. fields: names only."""

    id: int
    at: Instant
    who: str
    by: str
    where: str
    did: str
    fields: list[str]
