"""From what a form brought to what an action asks, with problems by field as the pages show them."""

from collections.abc import Mapping
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from service.actions.refusing import in_words
from service.errors import InvalidInputError, Problem

Asked = TypeVar("Asked", bound=BaseModel)


def asked(model: type[Asked], fields: Mapping[str, Any]) -> Asked:
    """The model of these fields; InvalidInputError naming each field that does not fit."""
    try:
        return model.model_validate(dict(fields))
    except ValidationError as error:
        raise InvalidInputError(*(_problem(one) for one in error.errors())) from None


def _problem(error: Any) -> Problem:
    return Problem("".join(f"/{part}" for part in error["loc"]), *in_words(error))
