"""What of the record may leave the house without its secrets."""

import json
from typing import Any

from service.notify.config import masked
from service.notify.masking import masked_address
from service.watch.heartbeat import MARK as HEARTBEAT
from service.watch.links import KEY_MARK

NEVER = frozenset({("mark", KEY_MARK)})
"""Rows that are nothing but a secret; the program makes them anew."""

NO_WAY_IN = frozenset({"account", "session", "token"})
"""Who may come in is a matter of one installation: even hashes of passwords stay there."""


def secretless(table: str, row: dict[str, Any]) -> dict[str, Any] | None:
    """A row as it may go out: addresses and passwords masked; None: not at all."""
    if table in NO_WAY_IN or (table, row.get("name")) in NEVER:
        return None
    if table == "channel":
        return {**row, "config": json.dumps(masked(json.loads(row["config"])))}
    if table == "mark" and row["name"] == HEARTBEAT:
        setting = json.loads(row["value"])
        return {**row, "value": json.dumps({**setting, "url": masked_address(setting["url"])})}
    return row
