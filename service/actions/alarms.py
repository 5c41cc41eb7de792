"""Alarms: list, read, acknowledge, shelve."""

import re
from collections.abc import Callable
from datetime import datetime

from service.actions.answers import AlarmAnswer, AlarmWithTransitions, TransitionAnswer
from service.actions.desk import Desk
from service.alarms.lifecycle import acknowledge, shelve, unshelve
from service.alarms.model import AlarmState, Transition
from service.errors import NotFoundError
from service.record import alarms as stored
from service.watch.book import BREWER
from service.watch.shapes import alarm_shape

SOMEBODY = BREWER


def number_of(alarm_id: str) -> int:
    """The record's number of an alarm id such as ``a-1042``."""
    match = re.fullmatch(r"a-(\d{1,15})", alarm_id)
    if match is None:
        raise NotFoundError(f"There is no alarm {alarm_id!r}.")
    return int(match[1])


def some_alarms(
    desk: Desk, standing: bool | None, vessel_id: str | None, limit: int, before: int | None
) -> list[AlarmAnswer]:
    """Alarms, newest first."""
    with desk.record.reading() as connection:
        found = stored.alarms(connection, standing, vessel_id, limit, before)
    return [alarm_answer(number, state) for number, state in found]


def one_alarm(desk: Desk, alarm_id: str) -> AlarmWithTransitions:
    """One alarm with its transitions."""
    number = number_of(alarm_id)
    with desk.record.reading() as connection:
        state = stored.alarm_by_id(connection, number)
        transitions = stored.transitions_of(connection, number)
    return AlarmWithTransitions(
        **alarm_answer(number, state).model_dump(),
        transitions=[
            TransitionAnswer(
                at=t["at"],
                event=t["event"],
                before=t["before"],
                after=t["after"],
                cause=t["cause"],
                numbers=dict(t["numbers"]),
            )
            for t in transitions
        ],
    )


Handling = Callable[[AlarmState, datetime], tuple[AlarmState, tuple[Transition, ...]]]


def acknowledge_alarm(desk: Desk, alarm_id: str, note: str | None, by: str = SOMEBODY) -> AlarmAnswer:
    """Somebody has seen it."""
    return _handle(desk, alarm_id, lambda state, now: acknowledge(state, by, note or "", now))


def shelve_alarm(desk: Desk, alarm_id: str, for_s: float, reason: str, by: str = SOMEBODY) -> AlarmAnswer:
    """Silence for a while, with a reason."""
    return _handle(desk, alarm_id, lambda state, now: shelve(state, for_s, reason, by, now))


def unshelve_alarm(desk: Desk, alarm_id: str, by: str = SOMEBODY) -> AlarmAnswer:
    """End the silence."""
    return _handle(desk, alarm_id, lambda state, now: unshelve(state, by, now))


def _handle(desk: Desk, alarm_id: str, handling: Handling) -> AlarmAnswer:
    number = number_of(alarm_id)
    with desk.record.reading() as connection:
        stored.alarm_by_id(connection, number)
    state = desk.watch.handle_alarm(number, handling)
    return alarm_answer(number, state)


def alarm_answer(number: int, state: AlarmState) -> AlarmAnswer:
    """An alarm in the shape of the HTTP contract."""
    return AlarmAnswer.model_validate(alarm_shape(state, number))
