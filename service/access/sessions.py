"""How long somebody stays logged in, and the cookie that says so."""

from datetime import datetime, timedelta

IDLE = timedelta(days=7)
"""Without being used so long, a session ends: a batch is looked at more often."""

ABSOLUTE = timedelta(days=30)
"""Then it ends whatever happens."""

SEEN_EVERY = timedelta(hours=1)
"""How exactly the last use of a session is kept; each note of it is a write to the card."""

USED_EVERY = timedelta(minutes=1)
"""How exactly the last use of a token is kept."""


def is_over(made_at: datetime, seen_at: datetime, now: datetime) -> bool:
    """Whether a session has ended by itself."""
    return now - seen_at > IDLE or now - made_at > ABSOLUTE


def cookie_name(https: bool, prefix: str) -> str:
    """A name whose beginning browsers hold to its promise: set over TLS, and by this host itself."""
    if not https:
        return "gylewatch"
    return "__Secure-gylewatch" if prefix else "__Host-gylewatch"


def set_cookie(secret: str, https: bool, prefix: str) -> str:
    """The Set-Cookie header of a new session; with an empty secret it takes the cookie back.

    SameSite=Lax: a link in a message leads to the page without logging in again, while no form of another
    site brings the cookie along.
    """
    ends = int(ABSOLUTE.total_seconds()) if secret else 0
    secure = "; Secure" if https else ""
    return (
        f"{cookie_name(https, prefix)}={secret}; Path={prefix or '/'}; Max-Age={ends}; HttpOnly; "
        f"SameSite=Lax{secure}"
    )


def secret_in(cookies: str, https: bool, prefix: str) -> str | None:
    """The session's secret in a Cookie header, or None."""
    wanted = cookie_name(https, prefix)
    for part in cookies.split(";"):
        name, _, value = part.strip().partition("=")
        if name == wanted and value:
            return value
    return None
