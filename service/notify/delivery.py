"""Delivery in one place: the outbox, when to try again, and the words they use."""

from service.notify.outbox import Delivery, Outbox
from service.notify.schedule import ChannelFacts, failing, next_attempt

__all__ = ["ChannelFacts", "Delivery", "Outbox", "failing", "next_attempt"]
