"""Alarms and channels over HTTP."""

from fastapi import APIRouter, Response

from service.actions import alarms as alarm_actions
from service.actions import channels as channel_actions
from service.actions.answers import AlarmAnswer, AlarmWithTransitions, ChannelAnswer, TestedChannel
from service.actions.asks import Acknowledge, ChannelChange, NewChannel, Shelve
from service.actions.wire import Page
from service.api.at_hand import AtHand, Caller, made
from service.api.paging import Cursor, Limit, cursor_for, key_in, page_of
from service.errors import InvalidInputError, Problem

router = APIRouter(tags=["alarms and channels"])


@router.get("/alarms")
def list_alarms(
    desk: AtHand,
    standing: bool | None = None,
    vessel_id: str | None = None,
    limit: Limit = 100,
    cursor: Cursor = None,
) -> Page[AlarmAnswer]:
    """Alarms, newest first; standing is every one that is not back to normal."""
    before = None
    if cursor is not None:
        text = key_in(cursor)
        if not text.isdigit() or len(text) > 15:
            raise InvalidInputError(
                Problem("/cursor", "was not given out here", "Begin again without a cursor.")
            )
        before = int(text)
    items = alarm_actions.some_alarms(desk, standing, vessel_id, limit + 1, before)
    more = cursor_for(items[limit - 1].id.removeprefix("a-")) if len(items) > limit else None
    return Page(items=items[:limit], next=more)


@router.get("/alarms/{alarm_id}")
def read_alarm(desk: AtHand, alarm_id: str) -> AlarmWithTransitions:
    """One alarm with its transitions."""
    return alarm_actions.one_alarm(desk, alarm_id)


@router.post("/alarms/{alarm_id}/acknowledge")
def acknowledge(desk: AtHand, who: Caller, alarm_id: str, ask: Acknowledge | None = None) -> AlarmAnswer:
    """Somebody has seen it."""
    return alarm_actions.acknowledge_alarm(desk, alarm_id, None if ask is None else ask.note, who.name)


@router.post("/alarms/{alarm_id}/shelve")
def shelve(desk: AtHand, who: Caller, alarm_id: str, ask: Shelve) -> AlarmAnswer:
    """Silence for a while, with a reason."""
    return alarm_actions.shelve_alarm(desk, alarm_id, ask.for_s, ask.reason, who.name)


@router.post("/alarms/{alarm_id}/unshelve")
def unshelve(desk: AtHand, who: Caller, alarm_id: str) -> AlarmAnswer:
    """End the silence."""
    return alarm_actions.unshelve_alarm(desk, alarm_id, who.name)


@router.get("/channels")
def list_channels(desk: AtHand, limit: Limit = 100, cursor: Cursor = None) -> Page[ChannelAnswer]:
    """Every channel; secrets are never shown again."""
    items, more = page_of(channel_actions.every_channel(desk), limit, cursor, lambda c: c.id)
    return Page(items=items, next=more)


@router.post("/channels", status_code=201)
def create_channel(desk: AtHand, ask: NewChannel, response: Response) -> ChannelAnswer:
    """A new channel."""
    answer = channel_actions.make_channel(desk, ask)
    made(response, f"/api/v1/channels/{answer.id}")
    return answer


@router.get("/channels/{channel_id}")
def read_channel(desk: AtHand, channel_id: str) -> ChannelAnswer:
    """One channel."""
    return channel_actions.one_channel(desk, channel_id)


@router.patch("/channels/{channel_id}")
def change_channel(desk: AtHand, channel_id: str, ask: ChannelChange) -> ChannelAnswer:
    """Change a channel (JSON merge patch)."""
    return channel_actions.alter_channel(desk, channel_id, ask)


@router.delete("/channels/{channel_id}", status_code=204)
def delete_channel(desk: AtHand, channel_id: str) -> None:
    """Take a channel away."""
    channel_actions.take_channel_away(desk, channel_id)


@router.post("/channels/{channel_id}/test")
def test_channel(desk: AtHand, channel_id: str) -> TestedChannel:
    """Send a test message now."""
    return channel_actions.try_channel(desk, channel_id)
