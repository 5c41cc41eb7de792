"""The sign of life: where it goes, how often, and how the last one fared."""

from typing import Annotated

from pydantic import Field
from sqlalchemy import Connection

from service.actions.desk import Desk
from service.actions.wire import Answer, Ask, Instant, Number, Text
from service.errors import InvalidInputError, NotFoundError, Problem
from service.notify.heartbeat import check_address
from service.notify.masking import HIDDEN, masked_address
from service.record.marks import forget_mark, read_mark, set_mark
from service.watch.heartbeat import MARK


class HeartbeatSetting(Ask):
    """An address that expects to be called every so often, from half a minute to a day."""

    url: Text
    every_s: Annotated[Number, Field(ge=30, le=86400)] = 300.0


class BeatAnswer(Answer):
    """One attempt."""

    at: Instant
    arrived: bool
    words: str


class HeartbeatAnswer(Answer):
    """The setting; most of the address is secret. last: null before the first attempt since the start."""

    url: str
    every_s: float
    last: BeatAnswer | None


def the_heartbeat(desk: Desk) -> HeartbeatAnswer:
    """The setting; NotFoundError when there is none."""
    with desk.record.reading() as connection:
        setting = read_mark(connection, MARK)
    if setting is None:
        raise NotFoundError("There is no heartbeat. Give the address that is to be called.")
    last = None if desk.heartbeat is None else desk.heartbeat.last
    return HeartbeatAnswer(
        url=masked_address(setting["url"]),
        every_s=setting["every_s"],
        last=None if last is None else BeatAnswer(at=last.at, arrived=last.arrived, words=last.words),
    )


def set_heartbeat(desk: Desk, ask: HeartbeatSetting) -> HeartbeatAnswer:
    """Set it; the address may be sent back masked to keep it."""

    def work(connection: Connection) -> None:
        old = read_mark(connection, MARK)
        url = ask.url
        if old is not None and url == masked_address(old["url"]):
            url = old["url"]
        if HIDDEN in url:
            raise InvalidInputError(
                Problem("/url", "still holds the mask of the old one", "Give the whole address again.")
            )
        check_address(url)
        set_mark(connection, MARK, {"url": url, "every_s": ask.every_s})

    desk.record.write(work)
    if desk.heartbeat is not None:
        desk.heartbeat.look_again()
    return the_heartbeat(desk)


def end_heartbeat(desk: Desk) -> None:
    """No more signs of life; NotFoundError when there were none."""
    the_heartbeat(desk)
    desk.record.write(lambda connection: forget_mark(connection, MARK))
    if desk.heartbeat is not None:
        desk.heartbeat.look_again()
