"""Channels, and the messages that wait to leave: committed with what caused them, settled once."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection, delete, func, insert, select, update

from service.errors import NotFoundError
from service.record.facts import ChannelRow
from service.record.tables import channel, message, said

WAITING = "waiting"
SENT = "sent"
GAVE_UP = "gave-up"
MERGED = "merged"
ABOUT_TO_LEAVE = timedelta(seconds=10)


def channels(connection: Connection) -> list[ChannelRow]:
    """Every channel, newest first."""
    rows = connection.execute(
        select(channel)
        .where(channel.c.removed_at.is_(None))
        .order_by(channel.c.created_at.desc(), channel.c.id)
    )
    return [_channel(row._mapping) for row in rows]


def channel_by_id(connection: Connection, channel_id: str) -> ChannelRow:
    """One channel; NotFoundError when there is none."""
    row = connection.execute(
        select(channel).where(channel.c.id == channel_id, channel.c.removed_at.is_(None))
    ).first()
    if row is None:
        raise NotFoundError(f"There is no channel {channel_id!r}.")
    return _channel(row._mapping)


def _channel(row: Mapping[Any, Any]) -> ChannelRow:
    return ChannelRow(
        id=row["id"],
        name=row["name"],
        kind=row["kind"],
        config=row["config"],
        quiet_hours=row["quiet_hours"],
        least_priority=row["least_priority"],
        created_at=row["created_at"],
        for_helper=row["for_helper"],
        digest_at=row["digest_at"],
    )


def channel_ids(connection: Connection) -> set[str]:
    """Every id ever given to a channel."""
    return {row[0] for row in connection.execute(select(channel.c.id))}


def add_channel(connection: Connection, new: ChannelRow) -> None:
    """Store a new channel."""
    connection.execute(
        insert(channel).values(
            id=new.id,
            name=new.name,
            kind=new.kind,
            config=dict(new.config),
            quiet_hours=new.quiet_hours,
            least_priority=new.least_priority,
            for_helper=new.for_helper,
            digest_at=new.digest_at,
            created_at=new.created_at,
        )
    )


def change_channel(connection: Connection, channel_id: str, changes: Mapping[str, Any]) -> None:
    """Change columns of a channel."""
    if changes:
        connection.execute(update(channel).where(channel.c.id == channel_id).values(**changes))


def remove_channel(connection: Connection, channel_id: str, now: datetime) -> None:
    """Take a channel away, its secrets with it; what still waited for it is given up."""
    channel_by_id(connection, channel_id)
    connection.execute(update(channel).where(channel.c.id == channel_id).values(removed_at=now, config={}))
    connection.execute(
        update(message)
        .where(message.c.channel_id == channel_id, message.c.state == WAITING)
        .values(state=GAVE_UP, next_at=None, done_at=now, far_end="the channel was taken away")
    )
    connection.execute(delete(said).where(said.c.channel_id == channel_id))


def add_message(
    connection: Connection,
    channel_id: str,
    priority: str,
    vessel_id: str | None,
    envelope: Mapping[str, Any],
    leave_at: datetime,
) -> int:
    """Put a message into the outbox; it leaves from `leave_at` on. Returns its number."""
    done = connection.execute(
        insert(message).values(
            channel_id=channel_id,
            vessel_id=vessel_id,
            priority=priority,
            state=WAITING,
            next_at=leave_at,
            attempts=0,
            **envelope,
        )
    )
    key = done.inserted_primary_key
    assert key is not None
    return int(key[0])


def gathering(connection: Connection, channel_id: str, now: datetime) -> list[Mapping[str, Any]]:
    """The messages of a channel that have not begun to leave, oldest first.

    One that leaves within seconds is left alone: it may be read for sending while this is committed.
    """
    rows = connection.execute(
        select(message)
        .where(
            message.c.channel_id == channel_id,
            message.c.state == WAITING,
            message.c.attempts == 0,
            message.c.next_at > now + ABOUT_TO_LEAVE,
        )
        .order_by(message.c.id)
    )
    return [dict(row._mapping) for row in rows]


def merge_message(connection: Connection, number: int, into: int, now: datetime) -> None:
    """What this message says goes with another one."""
    connection.execute(
        update(message)
        .where(message.c.id == number, message.c.state == WAITING)
        .values(state=MERGED, next_at=None, done_at=now, far_end=f"went with m-{into}")
    )


def rewrite_message(connection: Connection, number: int, values: Mapping[str, Any]) -> bool:
    """Change a message that has not begun to leave; False when it left in the meantime."""
    done = connection.execute(
        update(message)
        .where(message.c.id == number, message.c.state == WAITING, message.c.attempts == 0)
        .values(**values)
    )
    return done.rowcount == 1


def departures(
    connection: Connection, channel_id: str, since: datetime, now: datetime
) -> list[tuple[str | None, datetime]]:
    """When messages left this channel since a time, or were to leave: (vessel, time), oldest first."""
    rows = connection.execute(
        select(message.c.vessel_id, message.c.done_at, message.c.next_at)
        .where(
            message.c.channel_id == channel_id,
            message.c.at >= since - timedelta(hours=1),
            message.c.state.in_((WAITING, SENT)),
        )
        .order_by(message.c.id)
    )
    times = [(row.vessel_id, row.done_at or row.next_at) for row in rows]
    return [(vessel_id, at) for vessel_id, at in times if since <= at <= now]


def channel_facts(connection: Connection, channel_id: str) -> Mapping[str, Any]:
    """How deliveries on a channel go: waiting, oldest failure, last success, last words of the far end."""
    waiting = connection.execute(
        select(func.count(), func.min(message.c.first_failed_at)).where(
            message.c.channel_id == channel_id, message.c.state == WAITING
        )
    ).one()
    last = connection.execute(
        select(message.c.done_at, message.c.state, message.c.far_end)
        .where(message.c.channel_id == channel_id, message.c.state != WAITING)
        .order_by(message.c.id.desc())
        .limit(1)
    ).first()
    trouble = connection.execute(
        select(message.c.far_end)
        .where(message.c.channel_id == channel_id, message.c.state == WAITING, message.c.attempts > 0)
        .order_by(message.c.id)
        .limit(1)
    ).scalar()
    return {
        "waiting": int(waiting[0]),
        "failing_since": waiting[1],
        "last_at": None if last is None else last.done_at,
        "last_state": None if last is None else last.state,
        "far_end": trouble if trouble is not None else (None if last is None else last.far_end),
    }


def messages(connection: Connection, limit: int = 100) -> list[Mapping[str, Any]]:
    """The newest messages with how their delivery went."""
    rows = connection.execute(select(message).order_by(message.c.id.desc()).limit(limit))
    return [dict(row._mapping) for row in rows]
