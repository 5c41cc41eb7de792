from datetime import UTC, datetime

import pytest

from service.errors import InvalidInputError
from service.plans.moments import moment, said_length, said_temp, said_time
from tests.plans.given import NOON


def test_a_time_with_an_offset_becomes_utc() -> None:
    at = moment(datetime.fromisoformat("2026-11-25T13:00:00+01:00"), "/at")

    assert at == NOON
    assert at.tzinfo is UTC


def test_a_time_without_offset_is_refused_with_its_field() -> None:
    with pytest.raises(InvalidInputError, match="2026-11-25T12:00:00 has no offset") as error:
        moment(NOON.replace(tzinfo=None), "/at")

    assert error.value.problems[0].field == "/at"


@pytest.mark.parametrize(
    "length_s, words",
    [
        (1, "1 s"),
        (90, "90 s"),
        (60, "1 min"),
        (5400, "90 min"),
        (3600, "1 h"),
        (86400, "1 d"),
        (129600, "36 h"),
    ],
)
def test_a_length_is_said_in_a_fitting_unit(length_s: float, words: str) -> None:
    assert said_length(length_s) == words


def test_times_and_temperatures_are_said_plainly() -> None:
    assert said_time(datetime.fromisoformat("2026-11-25T13:00:00+01:00")) == "2026-11-25 12:00:00 UTC"
    assert (said_temp(19.8), said_temp(67.0), said_temp(-0.5)) == ("19.8 C", "67 C", "-0.5 C")
