"""Alarms: the memory of each subject, every alarm that was raised, and its transitions."""

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, delete, insert, select, update

from service.alarms.model import AlarmState, CoreState, Subject, Transition, state_from_json, to_json
from service.alarms.said import Said, said_from_json, said_to_json
from service.errors import NotFoundError
from service.record.tables import alarm, alarm_memory, alarm_transition, said


def subject_key(subject: Subject) -> str:
    """A subject as one text, the same every time."""
    return json.dumps([subject.key, subject.vessel_id, subject.probe_id, subject.other])


def load_memories(connection: Connection) -> dict[Subject, AlarmState]:
    """What every subject remembered at the last commit."""
    found = {}
    for row in connection.execute(select(alarm_memory)):
        state = state_from_json(row.memory)
        found[state.subject] = state
    return found


def store_memory(connection: Connection, state: AlarmState) -> None:
    """Keep a subject's memory, and its alarm's row when it has one."""
    key = subject_key(state.subject)
    memory = to_json(state)
    done = connection.execute(update(alarm_memory).where(alarm_memory.c.subject == key).values(memory=memory))
    if done.rowcount == 0:
        connection.execute(insert(alarm_memory).values(subject=key, memory=memory))
    if state.alarm_id is not None:
        connection.execute(
            update(alarm)
            .where(alarm.c.id == state.alarm_id)
            .values(
                state=state.core.value,
                priority=state.priority.value,
                memory=memory,
                batch_id=state.batch_id,
            )
        )


def forget_memory(connection: Connection, subject: Subject) -> None:
    """Drop a subject that has nothing to remember."""
    connection.execute(delete(alarm_memory).where(alarm_memory.c.subject == subject_key(subject)))


def new_alarm(connection: Connection, state: AlarmState, now: datetime) -> int:
    """Make the row of an alarm just raised; returns its number."""
    done = connection.execute(
        insert(alarm).values(
            key=state.subject.key,
            vessel_id=state.subject.vessel_id,
            batch_id=state.batch_id,
            probe_id=state.probe_id,
            other=state.subject.other,
            state=state.core.value,
            priority=state.priority.value,
            raised_at=state.raised_at or now,
            memory=to_json(state),
        )
    )
    key = done.inserted_primary_key
    assert key is not None
    return int(key[0])


def add_transition(connection: Connection, alarm_id: int | None, transition: Transition) -> None:
    """Keep one transition, with its cause in words and the numbers that led to it.

    alarm_id: None when its subject has never had an alarm (it can be suppressed all the same).
    """
    connection.execute(
        insert(alarm_transition).values(
            alarm_id=alarm_id,
            subject=subject_key(transition.subject),
            at=transition.at,
            event=str(transition.event),
            before=transition.before.value,
            after=transition.after.value,
            cause=transition.cause,
            numbers=dict(transition.numbers),
        )
    )


def alarms(
    connection: Connection,
    standing: bool | None,
    vessel_id: str | None,
    limit: int,
    before_id: int | None,
    batch_id: str | None = None,
) -> list[tuple[int, AlarmState]]:
    """Alarms as (number, state), newest first."""
    query = select(alarm.c.id, alarm.c.memory).order_by(alarm.c.id.desc()).limit(limit)
    if standing is True:
        query = query.where(alarm.c.state != CoreState.NORMAL.value)
    elif standing is False:
        query = query.where(alarm.c.state == CoreState.NORMAL.value)
    if vessel_id is not None:
        query = query.where(alarm.c.vessel_id == vessel_id)
    if batch_id is not None:
        query = query.where(alarm.c.batch_id == batch_id)
    if before_id is not None:
        query = query.where(alarm.c.id < before_id)
    return [(row.id, state_from_json(row.memory)) for row in connection.execute(query)]


def alarm_by_id(connection: Connection, alarm_id: int) -> AlarmState:
    """One alarm as it stands or ended; NotFoundError when there is none."""
    row = connection.execute(select(alarm.c.memory).where(alarm.c.id == alarm_id)).first()
    if row is None:
        raise NotFoundError(f"There is no alarm a-{alarm_id}.")
    return state_from_json(row.memory)


def transitions_of(connection: Connection, alarm_id: int) -> list[Mapping[str, Any]]:
    """The transitions of one alarm, oldest first."""
    rows = connection.execute(
        select(alarm_transition)
        .where(alarm_transition.c.alarm_id == alarm_id)
        .order_by(alarm_transition.c.id)
    )
    return [dict(row._mapping) for row in rows]


def last_transition(connection: Connection, subject: Subject, event: str) -> Mapping[str, Any] | None:
    """The newest transition of a subject by one event, or None."""
    row = connection.execute(
        select(alarm_transition)
        .where(alarm_transition.c.subject == subject_key(subject), alarm_transition.c.event == event)
        .order_by(alarm_transition.c.id.desc())
        .limit(1)
    ).first()
    return None if row is None else dict(row._mapping)


def load_said(connection: Connection) -> dict[tuple[str, Subject], Said]:
    """What was said of each subject on each channel."""
    return {
        (row.channel_id, Subject(*json.loads(row.subject))): said_from_json(row.memory)
        for row in connection.execute(select(said))
    }


def store_said(connection: Connection, channel_id: str, subject: Subject, memory: Said) -> None:
    """Keep what was said of a subject on a channel."""
    where = (said.c.channel_id == channel_id) & (said.c.subject == subject_key(subject))
    done = connection.execute(update(said).where(where).values(memory=said_to_json(memory)))
    if done.rowcount == 0:
        connection.execute(
            insert(said).values(
                channel_id=channel_id, subject=subject_key(subject), memory=said_to_json(memory)
            )
        )


def forget_said(connection: Connection, subject: Subject) -> None:
    """Drop what was said of a subject that has nothing left to remember."""
    connection.execute(delete(said).where(said.c.subject == subject_key(subject)))
