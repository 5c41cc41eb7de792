"""How figures are written, on the running service."""

from collections.abc import Mapping
from typing import Any

from service.actions.desk import Desk
from service.actions.notation import NotationChange, change_notation
from web.served.asked import asked


class WritingPart:
    """What the page of units asks."""

    _desk: Desk

    def write_figures(self, by: str, fields: Mapping[str, Any]) -> None:  # noqa: ARG002
        """Choose how figures are written."""
        change_notation(self._desk, asked(NotationChange, fields))
