"""What a route gets handed: the desk, and the version a caller saw."""

import re
from typing import Annotated

from fastapi import Depends, Header, Request, Response

from service.access.who import WHO, Who
from service.actions.desk import Desk
from service.errors import StaleError


def _desk(request: Request) -> Desk:
    desk = request.app.state.desk
    assert isinstance(desk, Desk)
    return desk


def _seen_version(if_match: Annotated[str | None, Header()] = None) -> int | None:
    """The version in If-Match; None without the header or with ``*``."""
    if if_match is None or if_match.strip() == "*":
        return None
    match = re.fullmatch(r'"(\d{1,9})"', if_match.strip())
    if match is None:
        raise StaleError("If-Match is no ETag of ours. Read the thing again and use the ETag of that answer.")
    return int(match[1])


def _caller(request: Request) -> Who:
    who = request.scope.get(WHO)
    assert isinstance(who, Who), "no route is reached without being let in"
    return who


AtHand = Annotated[Desk, Depends(_desk)]
Caller = Annotated[Who, Depends(_caller)]
SeenVersion = Annotated[int | None, Depends(_seen_version)]


def tag(response: Response, version: int) -> None:
    """Give the version as ETag."""
    response.headers["ETag"] = f'"{version}"'


def made(response: Response, location: str) -> None:
    """Say where the new thing is."""
    response.headers["Location"] = location
