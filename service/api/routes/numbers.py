"""The brewer's numbers over HTTP: one route for each declared computation."""

from collections.abc import Callable
from typing import Annotated, Any

from fastapi import APIRouter, Body

from service.actions.numbers import compute
from service.brewing.call import Argument, ArgumentType, Call
from service.brewing.calls import CALLS

router = APIRouter(prefix="/brewing", tags=["numbers"])

JSON_TYPES = {
    ArgumentType.NUMBER: "number",
    ArgumentType.INTEGER: "integer",
    ArgumentType.BOOLEAN: "boolean",
    ArgumentType.CHOICE: "string",
    ArgumentType.TIME: "string",
    ArgumentType.NUMBERS: "array",
    ArgumentType.OBJECTS: "array",
}


def schema_of(arguments: tuple[Argument, ...]) -> dict[str, Any]:
    """The JSON Schema of a computation's body, made from its declaration."""
    return {
        "type": "object",
        "additionalProperties": False,
        "required": [a.name for a in arguments if a.required],
        "properties": {a.name: _member(a) for a in arguments},
    }


def _member(argument: Argument) -> dict[str, Any]:
    member: dict[str, Any] = {"type": JSON_TYPES[argument.type]}
    words = " ".join(part for part in (f"{argument.label}.", argument.help) if part)
    member["description"] = f"{words} Unit: {argument.unit}." if argument.unit else words
    if argument.choices:
        member["enum"] = list(argument.choices)
    if argument.default is not None:
        member["default"] = argument.default
    if argument.type is ArgumentType.TIME:
        member["format"] = "date-time"
    if argument.type is ArgumentType.NUMBERS:
        member["items"] = {"type": "number"}
    if argument.type is ArgumentType.OBJECTS:
        member["items"] = schema_of(argument.fields)
    return member


def _route_for(call: Call) -> Callable[[Any], dict[str, Any]]:
    def ask(body: Annotated[Any, Body()]) -> dict[str, Any]:
        return compute(call.name, body)

    return ask


for _call in CALLS:
    router.add_api_route(
        f"/{_call.name}",
        _route_for(_call),
        methods=["POST"],
        name=_call.name,
        summary=_call.title,
        description=_call.question,
        openapi_extra={
            "requestBody": {
                "required": True,
                "content": {"application/json": {"schema": schema_of(_call.arguments)}},
            }
        },
    )
