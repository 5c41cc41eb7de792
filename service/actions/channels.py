"""Channels: make, change, take away, try out. Secrets go in and are never shown again."""

from collections.abc import Mapping
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from service.actions.absences import refuse_while_named
from service.actions.answers import ChannelAnswer, ChannelHealth, TestedChannel
from service.actions.asks import ChannelChange, NewChannel
from service.actions.desk import Desk, changes_of, short_id
from service.notify.channel_config import AppriseConfig
from service.notify.config import channel_from, config_from, masked, merge_secrets
from service.notify.envelope import Envelope, SendFailedError
from service.record import outbox as stored
from service.record.facts import ChannelRow
from service.watch.quiet import quiet_hours_from

OWN = {"name", "quiet_hours", "least_priority", "for_helper", "digest_at"}


def every_channel(desk: Desk) -> list[ChannelAnswer]:
    """Every channel, newest first."""
    with desk.record.reading() as connection:
        return [_answer(connection, row) for row in stored.channels(connection)]


def one_channel(desk: Desk, channel_id: str) -> ChannelAnswer:
    """One channel."""
    with desk.record.reading() as connection:
        return _answer(connection, stored.channel_by_id(connection, channel_id))


def make_channel(desk: Desk, ask: NewChannel) -> ChannelAnswer:
    """A new channel; what is wrong with its members is named."""
    config = {"kind": ask.kind, **(ask.model_extra or {})}
    _check(config)
    _check_quiet(ask.quiet_hours, desk.zone)

    def work(connection: Connection) -> str:
        channel_id = short_id(ask.name, stored.channel_ids(connection), "channel")
        stored.add_channel(
            connection,
            ChannelRow(
                id=channel_id,
                name=ask.name,
                kind=ask.kind,
                config=config,
                quiet_hours=ask.quiet_hours,
                least_priority=ask.least_priority,
                for_helper=ask.for_helper,
                digest_at=ask.digest_at,
                created_at=desk.now(),
            ),
        )
        return channel_id

    channel_id = desk.record.write(work)
    desk.watch.reload()
    return one_channel(desk, channel_id)


def alter_channel(desk: Desk, channel_id: str, ask: ChannelChange) -> ChannelAnswer:
    """Change a channel; a secret that is left out, or sent back masked, stays as it was."""
    changes = {k: v for k, v in changes_of(ask, ("name", "least_priority", "for_helper")).items() if k in OWN}
    if "quiet_hours" in changes:
        _check_quiet(changes["quiet_hours"], desk.zone)
    extra = dict(ask.model_extra or {})
    if extra:
        with desk.record.reading() as connection:
            kept = stored.channel_by_id(connection, channel_id).config
        _check(merge_secrets(kept, _patched(kept, extra)))

    def work(connection: Connection) -> None:
        row = stored.channel_by_id(connection, channel_id)
        if extra:
            config = merge_secrets(row.config, _patched(row.config, extra))
            config_from(config)
            changes.update({"config": config, "kind": config["kind"]})
        stored.change_channel(connection, channel_id, changes)

    desk.record.write(work)
    desk.watch.reload()
    return one_channel(desk, channel_id)


def _patched(old: Mapping[str, Any], patch: Mapping[str, Any]) -> dict[str, Any]:
    shown = masked(old)
    return {name: value for name, value in {**shown, **patch}.items() if value is not None}


def take_channel_away(desk: Desk, channel_id: str) -> None:
    """Take a channel away; what still waited for it is given up. ConflictError while an absence names it."""
    now = desk.now()

    def work(connection: Connection) -> None:
        refuse_while_named(connection, channel_id, now)
        stored.remove_channel(connection, channel_id, now)

    desk.record.write(work)
    desk.watch.reload()


def try_channel(desk: Desk, channel_id: str) -> TestedChannel:
    """Send a test message now, and say what the far end said."""
    with desk.record.reading() as connection:
        row = stored.channel_by_id(connection, channel_id)
    now = desk.now()
    envelope = Envelope(
        id=f"test-{channel_id}-{now:%Y%m%dT%H%M%S%f}",
        reason="test",
        vessel=None,
        title="Test from gylewatch",
        text="This is a test from gylewatch. Nothing is wrong. Alarms will arrive here the same way.",
        alarms=(),
        at=now,
    )
    channel = channel_from(row.config, now=desk.now)
    try:
        delivered = channel.send(envelope)
    except SendFailedError as failed:
        words = str(failed)
        if failed.far_end not in words:
            words = f"{words} {failed.far_end}"
        return TestedChannel(delivered=False, far_end=words, took_ms=0)
    finally:
        channel.close()
    return TestedChannel(delivered=True, far_end=delivered.far_end, took_ms=delivered.took_ms)


def _check(config: Mapping[str, Any]) -> None:
    """Raises InvalidInputError for a channel that could never send.

    Not while the record is being written: what the library of a service says of an address takes a while.
    """
    if isinstance(config_from(config), AppriseConfig):
        channel_from(config).close()


def _check_quiet(given: Mapping[str, Any] | None, zone: ZoneInfo) -> None:
    if given is not None:
        quiet_hours_from(given, zone)


def _answer(connection: Connection, row: ChannelRow) -> ChannelAnswer:
    facts = stored.channel_facts(connection, row.id)
    shown = {name: value for name, value in masked(row.config).items() if name != "kind"}
    return ChannelAnswer.model_validate(
        {
            **shown,
            "id": row.id,
            "name": row.name,
            "kind": row.kind,
            "quiet_hours": None if row.quiet_hours is None else dict(row.quiet_hours),
            "least_priority": row.least_priority,
            "for_helper": row.for_helper,
            "digest_at": row.digest_at,
            "created_at": row.created_at,
            "health": ChannelHealth.model_validate(facts),
        }
    )
