"""Every refusal as RFC 9457: one clear sentence, the field and the remedy; never the input itself."""

import json
from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.responses import Response

from service.actions.refusing import in_words
from service.errors import (
    ConflictError,
    GylewatchError,
    InvalidInputError,
    NotAdmittedError,
    NotAllowedError,
    NotFoundError,
    Problem,
    StaleError,
    TooSoonError,
    UnavailableError,
)

STATUS_OF: Mapping[type[GylewatchError], int] = {
    InvalidInputError: 422,
    NotAdmittedError: 401,
    NotAllowedError: 403,
    NotFoundError: 404,
    ConflictError: 409,
    StaleError: 412,
    TooSoonError: 429,
    UnavailableError: 503,
}


def problem_response(
    status: int,
    detail: str,
    problems: Sequence[Problem] = (),
    headers: Mapping[str, str] | None = None,
) -> Response:
    """An answer of type application/problem+json."""
    body: dict[str, Any] = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
    }
    if problems:
        body["errors"] = [{"field": p.field, "problem": p.problem, "remedy": p.remedy} for p in problems]
    # ensure_ascii: a lone surrogate in a message must not break the answer
    return Response(
        json.dumps(body, ensure_ascii=True),
        status,
        dict(headers or {}),
        media_type="application/problem+json",
    )


def pointer(location: Sequence[int | str]) -> str:
    """A JSON pointer (RFC 6901) from pydantic's location, without its leading ``body``."""
    parts = [str(part) for part in location if part != "__root__"]
    if parts and parts[0] in ("body", "query", "path", "header"):
        parts = parts[1:]
    return "".join("/" + part.replace("~", "~0").replace("/", "~1") for part in parts)


def problems_from(errors: Sequence[Mapping[str, Any]]) -> list[Problem]:
    """Pydantic's errors as ours; what was given is not repeated."""
    return [Problem(pointer(error["loc"]), *in_words(error)) for error in errors]


def install(app: FastAPI) -> None:
    """Make every refusal of the application a problem document."""

    async def invalid(_request: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)
        if any(one["type"] == "json_invalid" for one in error.errors()):
            return problem_response(400, "The body is not JSON.")
        problems = problems_from(error.errors())
        first = problems[0]
        return problem_response(422, f"{first.field or 'The body'} {first.problem}.", problems)

    async def refused(_request: Request, error: Exception) -> Response:
        assert isinstance(error, GylewatchError)
        status = next((STATUS_OF[kind] for kind in type(error).__mro__ if kind in STATUS_OF), 500)
        problems = error.problems if isinstance(error, InvalidInputError) else ()
        headers = {"Retry-After": "5"} if status == 503 else None
        if isinstance(error, TooSoonError):
            headers = {"Retry-After": str(error.after_s)}
        return problem_response(status, str(error).rstrip(".") + ".", problems, headers)

    async def http(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        words = {404: "There is nothing here", 405: f"{request.method} is not possible here"}
        detail = words.get(error.status_code, str(error.detail)).rstrip(".") + "."
        return problem_response(error.status_code, detail, headers=error.headers)

    app.add_exception_handler(RequestValidationError, invalid)
    app.add_exception_handler(GylewatchError, refused)
    app.add_exception_handler(HTTPException, http)
