"""What does not fit, in words: what is wrong with a value, and what would fit instead."""

from collections.abc import Mapping
from typing import Any

BY_LIMIT: Mapping[str, tuple[str, str]] = {
    "greater_than": ("is not above {gt}", "Give a number above {gt}."),
    "greater_than_equal": ("is below {ge}", "Give {ge} or more."),
    "less_than": ("is not below {lt}", "Give a number below {lt}."),
    "less_than_equal": ("is above {le}", "Give {le} or less."),
    "string_too_short": ("is too short", "Give at least {min_length} characters."),
    "string_too_long": ("is longer than {max_length} characters", "Give at most {max_length} characters."),
    "too_short": ("has too few entries", "Give at least {min_length}."),
    "too_long": ("has more than {max_length} entries", "Give at most {max_length}."),
    "literal_error": ("is none of the choices", "Give one of {expected}."),
    "enum": ("is none of the choices", "Give one of {expected}."),
    "string_pattern_mismatch": ("is not written as it must be", "Write it so that it fits {pattern}."),
    "missing": ("is missing", "Give it."),
    "extra_forbidden": ("is not known here", "Leave it out, or check its spelling."),
}
"""By pydantic's name of the error, with the limits it names."""

BY_KIND: Mapping[str, tuple[str, str]] = {
    "float": ("is not a number", "Give a number, such as 4.5."),
    "finite": ("is not a finite number", "Give a number, such as 4.5."),
    "int": ("is not a whole number", "Give a whole number, such as 4."),
    "bool": ("is neither true nor false", "Give true or false."),
    "string": ("is not text", "Give it as text."),
    "list": ("is not a list", "Give a list."),
    "dict": ("is not an object", "Give an object with its members by name."),
    "model": ("is not an object", "Give an object with its members by name."),
}
"""By the first word of pydantic's name of the error: a value of the wrong kind."""


def in_words(error: Mapping[str, Any]) -> tuple[str, str]:
    """The problem and its remedy of one of pydantic's errors; the value that was given is not repeated.

    A check of our own says both in its one sentence, so that its remedy repeats what must be.
    """
    kind, limits = str(error["type"]), error.get("ctx") or {}
    if kind in BY_LIMIT:
        problem, remedy = BY_LIMIT[kind]
        said = {name: _figure(limit) for name, limit in limits.items()}
        return problem.format(**said), remedy.format(**said)
    if kind.partition("_")[0] in BY_KIND:
        return BY_KIND[kind.partition("_")[0]]
    words = str(error["msg"]).removeprefix("Value error, ")
    words = words[:1].lower() + words[1:]
    what = f"It {words}" if words.startswith("must ") else words[:1].upper() + words[1:]
    return words, f"{what.rstrip('.')}."


def _figure(limit: Any) -> str:
    return f"{limit:.15g}" if isinstance(limit, float) else str(limit)
