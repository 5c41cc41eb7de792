"""What every page asks of the service: the time, the brewer's taste, what stands, and whose form this is.

Each page adds the few calls it needs in a protocol of its own, beside its router. All calls may block; they
are made from worker threads. Refusals are raised as the classes of `service.errors`.
"""

from collections.abc import Sequence
from datetime import datetime
from typing import Protocol

from fastapi import Request

from web.views import AlarmView
from web.words import Taste


class PageHouse(Protocol):
    """The service as the frame around every page sees it."""

    def now(self) -> datetime:
        """The present, aware UTC."""
        ...

    def taste(self) -> Taste:
        """How this brewer wants values written."""
        ...

    def standing(self) -> Sequence[AlarmView]:
        """Every alarm that is not normal, shelved and suppressed ones included."""
        ...

    def form_token(self, request: Request) -> str:
        """The token that forms of this visitor must bring back."""
        ...

    def once(self) -> str:
        """A key that no other form has, so that a form sent twice acts once."""
        ...

    def led_to(self, once: str) -> str | None:
        """Where the form with this key led when it was sent before, or None."""
        ...

    def remember(self, once: str, path: str) -> None:
        """Keeps where the form with this key led."""
        ...

    def admit(self, request: Request, token: str) -> str | None:
        """The name of who sends this form, or None when it did not come from one of our own pages."""
        ...
