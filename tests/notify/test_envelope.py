"""A message as a webhook gets it."""

import json
from dataclasses import replace
from datetime import datetime, timedelta, timezone

import pytest

from service.notify.envelope import payload
from tests.notify.samples import NOON, an_envelope


def test_the_body_has_the_members_of_the_contract_and_no_others() -> None:
    body = payload(an_envelope())

    assert list(body) == ["id", "reason", "vessel", "text", "alarms", "at"]
    assert json.loads(json.dumps(body)) == body


def test_the_time_is_utc_whatever_zone_it_came_in() -> None:
    berlin = NOON.astimezone(timezone(timedelta(hours=1)))

    assert payload(an_envelope(at=berlin))["at"] == "2026-11-25T12:00:00Z"


def test_a_message_without_a_zone_is_a_mistake_of_ours() -> None:
    with pytest.raises(ValueError, match="no time zone"):
        replace(an_envelope(), at=datetime(2026, 11, 25))  # noqa: DTZ001 - the mistake itself
