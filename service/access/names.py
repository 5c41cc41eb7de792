"""What an account or a token may be called."""

import re
import unicodedata

from service.errors import InvalidInputError, Problem

LONGEST = 40
ALLOWED = re.compile(r"[^\W_](?:[\w .'-]*[\w.'])?")
RESERVED = frozenset({"the brewer", "brewer", "gylewatch", "command line", "this machine", "somebody"})
"""Names by which the record speaks of others."""


def checked_name(name: str, field: str = "/name") -> str:
    """The name as it is kept; InvalidInputError. Letters and figures, with ``. ' _ -`` or spaces between."""
    plain = " ".join(unicodedata.normalize("NFC", name).split(" ")).strip()
    if not plain:
        raise InvalidInputError(Problem(field, "is empty", "Give a name, such as Attic."))
    if len(plain) > LONGEST or not ALLOWED.fullmatch(plain):
        raise InvalidInputError(
            Problem(
                field,
                f"must be at most {LONGEST} letters and figures; spaces and . ' _ - may stand between them",
                "Take a short name, such as Attic.",
            )
        )
    if plain.casefold() in RESERVED or plain.casefold().startswith("a reader of"):
        raise InvalidInputError(
            Problem(field, "is a name by which the record speaks of somebody else", "Take another.")
        )
    return plain


def alike(one: str, other: str) -> bool:
    """Whether two names are the same to people."""
    return unicodedata.normalize("NFKC", one).casefold() == unicodedata.normalize("NFKC", other).casefold()
