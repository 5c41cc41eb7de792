"""What does not fit, with the limits named; the value that was given is never repeated."""

from typing import Annotated, Any, Literal

import pytest
from pydantic import BaseModel, Field, ValidationError

from service.actions.asks import DayTime
from service.actions.refusing import in_words
from service.actions.wire import Ask, Instant, Number, Text


class Inner(Ask):
    n: int


class Every(Ask):
    above: Annotated[Number, Field(gt=0)] = 1
    least: Annotated[Number, Field(ge=60)] = 60
    below: Annotated[Number, Field(lt=1.2)] = 1
    most: Annotated[Number, Field(le=86400)] = 60
    short: Annotated[str, Field(min_length=3)] = "abc"
    long: Text = ""
    few: Annotated[list[int], Field(min_length=1, max_length=2)] = Field(default_factory=lambda: [1])
    choice: Literal["low", "high"] = "low"
    whole: Annotated[int, Field(strict=True)] = 1
    yes: Annotated[bool, Field(strict=True)] = True
    at: Instant | None = None
    day: DayTime = "08:00"
    inner: Inner = Inner(n=1)
    coded: Annotated[str, Field(pattern="^a+$")] = "a"
    named: dict[str, int] = Field(default_factory=dict)


def words(model: type[BaseModel], **given: Any) -> tuple[str, str]:
    with pytest.raises(ValidationError) as refused:
        model.model_validate(given)
    return in_words(refused.value.errors()[0])


@pytest.mark.parametrize(
    ("given", "problem", "remedy"),
    [
        ({"above": 0}, "is not above 0", "Give a number above 0."),
        ({"least": 5}, "is below 60", "Give 60 or more."),
        ({"below": 1.3}, "is not below 1.2", "Give a number below 1.2."),
        ({"most": 1e9}, "is above 86400", "Give 86400 or less."),
        ({"above": "5"}, "is not a number", "Give a number, such as 4.5."),
        ({"above": float("nan")}, "is not a finite number", "Give a number, such as 4.5."),
        ({"whole": 1.5}, "is not a whole number", "Give a whole number, such as 4."),
        ({"short": "a"}, "is too short", "Give at least 3 characters."),
        ({"long": "a" * 4001}, "is longer than 4000 characters", "Give at most 4000 characters."),
        ({"long": 5}, "is not text", "Give it as text."),
        ({"few": []}, "has too few entries", "Give at least 1."),
        ({"few": [1, 2, 3]}, "has more than 2 entries", "Give at most 2."),
        ({"few": 5}, "is not a list", "Give a list."),
        ({"choice": "huge"}, "is none of the choices", "Give one of 'low' or 'high'."),
        ({"yes": "perhaps"}, "is neither true nor false", "Give true or false."),
        ({"inner": 5}, "is not an object", "Give an object with its members by name."),
        ({"named": 5}, "is not an object", "Give an object with its members by name."),
        ({"inner": {}}, "is missing", "Give it."),
        ({"colour": 1}, "is not known here", "Leave it out, or check its spelling."),
        ({"coded": "b"}, "is not written as it must be", "Write it so that it fits ^a+$."),
        (
            {"day": "25:00"},
            "must be a time of day from 00:00 to 23:59, such as 08:00",
            "It must be a time of day from 00:00 to 23:59, such as 08:00.",
        ),
    ],
)
def test_a_value_that_does_not_fit_is_told_what_would(
    given: dict[str, Any], problem: str, remedy: str
) -> None:
    assert words(Every, **given) == (problem, remedy)


@pytest.mark.parametrize("given", ["yesterday", 5, "2026-13-01T00:00:00Z", "1066-10-14T09:00:00Z"])
def test_a_time_says_how_it_is_written_and_never_repeats_what_was_given(given: object) -> None:
    problem, remedy = words(Every, at=given)

    assert problem.startswith("must ")
    assert remedy == f"It {problem}."
    assert str(given) not in problem.replace("2026-11-25T18:00:00Z", "")
