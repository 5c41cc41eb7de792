"""The ways a message can leave."""

from service.notify.channels.channel import Channel

__all__ = ["Channel"]
