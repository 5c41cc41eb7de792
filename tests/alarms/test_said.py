import json
from datetime import time

import pytest

from service.alarms.lifecycle import acknowledge
from service.alarms.model import Presence, Priority
from service.alarms.quiet import QuietHours
from service.alarms.said import said_from_json, said_of, said_to_json, with_said
from service.alarms.speaking import Reason, message_due, spoken
from service.errors import InvalidInputError
from tests.alarms.making import BERLIN, at, raised, run

PRESENT, ABSENT = Presence.PRESENT, Presence.ABSENT
AFTERNOONS = QuietHours(BERLIN, {day: (time(14), time(15)) for day in range(7)})
AFTERNOON_ENDS = 55 * 60


def test_each_channel_hears_of_it_in_its_own_time() -> None:
    state = raised()
    mail = said_of(spoken(with_said(state, None), Reason.FIRST, at(0)))

    assert message_due(with_said(state, mail), None, at(1)) is None
    assert message_due(with_said(state, None), AFTERNOONS, at(1)) is None
    assert message_due(with_said(state, None), AFTERNOONS, at(AFTERNOON_ENDS)) is Reason.END_OF_QUIET_HOURS


def test_a_channel_that_never_heard_of_it_is_not_told_that_it_has_passed() -> None:
    state, _ = run(raised(), ABSENT, [60], clear_after_s=0.0)
    mail = said_of(spoken(raised(), Reason.FIRST, at(0)))

    assert message_due(with_said(state, mail), None, at(60)) is Reason.RETURNED
    assert message_due(with_said(state, None), AFTERNOONS, at(AFTERNOON_ENDS)) is None


def test_a_new_alarm_is_news_to_a_channel_that_was_told_of_the_old_one() -> None:
    state = raised()
    mail = said_of(spoken(state, Reason.FIRST, at(0)))
    state, _ = acknowledge(state, "Ana", "", at(10))
    state, _ = run(state, ABSENT, [20], clear_after_s=0.0)
    state, _ = run(state, PRESENT, [7200], after_s=0.0)

    assert message_due(with_said(state, mail), None, at(7200)) is Reason.FIRST


def test_one_that_came_back_unseen_is_news_only_where_its_return_was_told() -> None:
    first = raised()
    told = spoken(first, Reason.FIRST, at(0))
    returned, _ = run(told, ABSENT, [60], clear_after_s=0.0)
    heard_both = said_of(spoken(returned, Reason.RETURNED, at(60)))
    again, _ = run(returned, PRESENT, [7200], after_s=0.0)

    assert message_due(with_said(again, heard_both), None, at(7200)) is Reason.FIRST
    assert message_due(with_said(again, said_of(told)), None, at(7200)) is Reason.REMINDER


def test_what_flaps_is_held_back_on_the_channel_that_was_told_lately() -> None:
    state = raised()
    mail = said_of(spoken(state, Reason.FIRST, at(0)))
    state, _ = acknowledge(state, "Ana", "", at(10))
    state, _ = run(state, ABSENT, [20], clear_after_s=0.0)
    state, _ = run(state, PRESENT, [60], after_s=0.0)

    assert message_due(with_said(state, mail), None, at(60)) is None
    assert message_due(with_said(state, mail), None, at(600)) is Reason.FIRST
    assert message_due(with_said(state, None), None, at(60)) is Reason.FIRST


def test_it_survives_its_way_through_json() -> None:
    said = said_of(spoken(raised(Priority.HIGH), Reason.FIRST, at(0)))

    assert said_from_json(json.loads(json.dumps(said_to_json(said)))) == said


@pytest.mark.parametrize(
    "stored",
    [
        {},
        {"episode": 1, "instance": 1, "shifted_s": 0.0, "first_spoken_at": "yesterday"},
        {"episode": 1, "instance": 1, "shifted_s": 0.0, "first_spoken_at": "2026-11-25T14:05:00"},
        {"episode": 1, "instance": 1, "shifted_s": 0.0, "spoken_priority": "loud"},
    ],
)
def test_what_is_no_memory_is_refused(stored: dict[str, object]) -> None:
    with pytest.raises(InvalidInputError):
        said_from_json(stored)
