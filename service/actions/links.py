"""Acknowledging from a message: what a link is about, and what pressing its button does."""

from service.actions.alarms import acknowledge_alarm, one_alarm
from service.actions.answers import AlarmWithTransitions
from service.actions.desk import Desk
from service.errors import NotFoundError
from service.record.outbox import channel_by_id
from service.watch.links import read_link


def alarm_of_link(desk: Desk, token: str) -> AlarmWithTransitions:
    """The alarm that a link is about. Looking at it changes nothing.

    LinkForgedError, LinkExpiredError; NotFoundError when the record knows the alarm no more.
    """
    alarm_id, _ = read_link(token, desk.watch.link_key, desk.now())
    return one_alarm(desk, alarm_id)


def acknowledge_by_link(desk: Desk, token: str) -> AlarmWithTransitions:
    """Whoever reads that channel has seen the alarm. ConflictError when it was seen before, or is over."""
    alarm_id, channel_id = read_link(token, desk.watch.link_key, desk.now())
    acknowledge_alarm(desk, alarm_id, "from the message", by=_reader(desk, channel_id))
    return one_alarm(desk, alarm_id)


def _reader(desk: Desk, channel_id: str) -> str:
    try:
        with desk.record.reading() as connection:
            return f"a reader of {channel_by_id(connection, channel_id).name}"
    except NotFoundError:
        return "a reader of a former channel"
