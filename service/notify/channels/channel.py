"""What every channel can do, whatever carries the message."""

from typing import Protocol

from service.notify.envelope import Delivered, Envelope


class Channel(Protocol):
    """A way to a person. Used by one thread at a time, or by several at once."""

    @property
    def kind(self) -> str:
        """``webhook``, ``mail`` or ``apprise``."""
        ...

    def send(self, envelope: Envelope) -> Delivered:
        """Hand the message to the far end and wait, for a bounded time, until it says yes.

        Raises SendFailedError, and nothing else, when it did not say yes.
        """
        ...

    def close(self) -> None:
        """Give back what the channel holds."""
        ...
