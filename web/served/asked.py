"""From what a form brought to what an action asks, with problems by field as the pages show them."""

from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from service.errors import InvalidInputError, Problem

Asked = TypeVar("Asked", bound=BaseModel)

LIMITS = {
    "greater_than": ("is not above {gt}", "Give a larger one."),
    "greater_than_equal": ("is below {ge}", "Give a larger one."),
    "less_than": ("is not below {lt}", "Give a smaller one."),
    "less_than_equal": ("is above {le}", "Give a smaller one."),
    "string_too_long": ("is longer than {max_length} characters", "Make it shorter."),
    "missing": ("is missing", "Fill it in."),
    "extra_forbidden": ("does not belong here", "Leave it empty."),
    "literal_error": ("is none of the choices", "Choose one of the list."),
}


def asked(model: type[Asked], fields: Mapping[str, Any]) -> Asked:
    """The model of these fields; InvalidInputError naming each field that does not fit."""
    try:
        return model.model_validate(dict(fields))
    except ValidationError as error:
        raise InvalidInputError(*(_problem(one) for one in error.errors())) from None


def _problem(error: Any) -> Problem:
    field = "".join(f"/{part}" for part in error["loc"])
    if error["type"] in LIMITS:
        words, remedy = LIMITS[error["type"]]
        return Problem(field, words.format(**error.get("ctx", {})), remedy)
    words = str(error["msg"]).removeprefix("Value error, ")
    return Problem(field, words[:1].lower() + words[1:])
