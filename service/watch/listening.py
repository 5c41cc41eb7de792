"""Which channel hears of which alarm: by its least priority, and by whether the brewer is away. Pure."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from service.alarms.model import AlarmState, Priority
from service.record.facts import Absence, ChannelRow


@dataclass(frozen=True, slots=True)
class Ears:
    """The channels, and the absence that holds now.

    While the brewer is away the channel named for it hears everything, in words for a helper. What is
    urgent goes to the brewer's own channels too: a helper may be asleep or have lost the phone, and
    somebody who knows the beer can still ring them up. The rest would only trouble a person who can do
    nothing about it, and is told when the absence is over and it still stands. If messages do not arrive
    at the helper's channel, the brewer's hear everything, as if nobody were away.

    A channel for helpers is silent unless an absence names it. No channel is told that it fails itself:
    that message would only wait behind those that cannot leave.
    """

    channels: Sequence[ChannelRow]
    absence: Absence | None = None

    def hears(self, channel: ChannelRow, state: AlarmState, failing: Collection[str]) -> bool:
        """Whether a channel is to hear of an alarm. failing: channels whose messages do not arrive."""
        subject = state.subject
        if subject.key == "channel-failing" and subject.other == channel.id:
            return False
        if state.priority.rank < Priority(channel.least_priority).rank:
            return False
        if self.is_helpers(channel.id):
            return True
        if channel.for_helper:
            return False
        if self.absence is None or self.absence.channel_id in failing:
            return True
        return state.priority is Priority.HIGH

    def is_helpers(self, channel_id: str) -> bool:
        """Whether a helper reads this channel now."""
        return self.absence is not None and self.absence.channel_id == channel_id


def failing_channels(states: Collection[AlarmState]) -> frozenset[str]:
    """The channels that an alarm says messages do not arrive by."""
    return frozenset(
        s.subject.other or "" for s in states if s.subject.key == "channel-failing" and s.cause_stands
    )
