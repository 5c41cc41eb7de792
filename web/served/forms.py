"""Forms that act once: where each one led is kept beside the answers to repeated requests."""

import secrets

from service.actions.desk import Desk
from service.record.audit import attributed
from service.record.marks import answer_to, keep_answer

KIND = "form"


class FormsPart:
    """What every form asks of the running service."""

    _desk: Desk

    def once(self) -> str:
        """A key that no other form has."""
        return secrets.token_urlsafe(18)

    def led_to(self, once: str) -> str | None:
        """Where the form with this key led, or None."""
        with self._desk.record.reading() as connection:
            found = answer_to(connection, f"{KIND}:{once}"[:200])
        return None if found is None else str(found["body"])

    def remember(self, once: str, path: str) -> None:
        """Keep where the form with this key led."""
        now = self._desk.now()
        key = f"{KIND}:{once}"[:200]
        with attributed(None):  # where a form led is no change by somebody
            self._desk.record.write(lambda c: keep_answer(c, key, KIND, 303, {}, path, now))
