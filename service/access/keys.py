"""Secrets that the program makes itself: sessions, tokens, the code for the first account.

They are random enough (256 bits, the code 75) that a plain SHA-256 of them can be stored: there is nothing
to guess that a slow hash would protect.
"""

import hashlib
import hmac
import secrets
from collections.abc import Callable

TOKEN_START = "gyle_"
"""So that a token is recognised where it was left by mistake."""

CODE_LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
"""Without I, O, 0 and 1, which are mistaken for each other."""

CODE_LENGTH = 15

Fresh = Callable[[int], str]


def new_session(fresh: Fresh = secrets.token_urlsafe) -> str:
    """The secret of a new session: 256 bits."""
    return fresh(32)


def new_token(fresh: Fresh = secrets.token_urlsafe) -> str:
    """A new token: 256 bits behind a mark."""
    return TOKEN_START + fresh(32)


def new_code(choose: Callable[[str], str] = secrets.choice) -> str:
    """A code that can be typed: three groups of five, 75 bits."""
    letters = "".join(choose(CODE_LETTERS) for _ in range(CODE_LENGTH))
    return "-".join(letters[n : n + 5] for n in range(0, CODE_LENGTH, 5))


def as_typed(code: str) -> str:
    """A code without what people put in or leave out when typing."""
    return "".join(letter for letter in code.upper() if letter in CODE_LETTERS)


def hashed(secret: str) -> str:
    """What is stored of a secret."""
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()


def form_token(session_secret: str) -> str:
    """What forms of a session bring back: made from its secret, so nothing of it is stored."""
    return hmac.new(session_secret.encode(), b"gylewatch forms 1", hashlib.sha256).hexdigest()


def same(one: str, other: str) -> bool:
    """Whether two secrets are the same, in a time that does not tell how much of them is."""
    return hmac.compare_digest(one.encode("utf-8", "surrogatepass"), other.encode("utf-8", "surrogatepass"))
