"""Lists in pages: a limit and an opaque cursor."""

import base64
from collections.abc import Callable, Sequence
from typing import Annotated, TypeVar

from fastapi import Path, Query

from service.errors import InvalidInputError, Problem

T = TypeVar("T")

Limit = Annotated[int, Query(ge=1, le=1000)]
ItemNumber = Annotated[int, Path(ge=1, le=2**31 - 1)]
Cursor = Annotated[str | None, Query(max_length=200)]


def cursor_for(key: str) -> str:
    """A cursor that says: go on after this one."""
    return base64.urlsafe_b64encode(key.encode()).decode().rstrip("=")


def key_in(cursor: str) -> str:
    """What a cursor says; InvalidInputError for one that was not given out here."""
    try:
        return base64.urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)).decode()
    except ValueError:
        raise InvalidInputError(
            Problem("/cursor", "was not given out here", "Begin again without a cursor.")
        ) from None


def page_of(
    items: Sequence[T], limit: int, cursor: str | None, key: Callable[[T], str]
) -> tuple[list[T], str | None]:
    """The page of a whole list that follows the cursor, and where it goes on."""
    start = 0
    if cursor is not None:
        after = key_in(cursor)
        keys = [key(item) for item in items]
        if after not in keys:
            raise InvalidInputError(
                Problem("/cursor", "points at something that is gone", "Begin again without a cursor.")
            )
        start = keys.index(after) + 1
    chosen = list(items[start : start + limit])
    more = start + limit < len(items)
    return chosen, cursor_for(key(chosen[-1])) if more and chosen else None
