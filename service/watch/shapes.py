"""An alarm in the shape in which it travels: to a webhook, to open pages, over the API."""

from datetime import UTC, datetime
from typing import Any

from service.alarms.model import AlarmState


def alarm_shape(state: AlarmState, number: int | None) -> dict[str, Any]:
    """Plain values ready for JSON; times in RFC 3339 with ``Z``."""
    return {
        "id": f"a-{number if number is not None else state.alarm_id}",
        "key": state.subject.key,
        "vessel_id": state.subject.vessel_id,
        "batch_id": state.batch_id,
        "probe_id": state.probe_id,
        "stage": state.stage,
        "state": state.core.value,
        "shelved_until": said_at(state.shelved_until),
        "suppressed_by": state.suppressed_by,
        "out_of_service": state.out_of_service,
        "priority": state.priority.value,
        "raised_at": said_at(state.raised_at),
        "acknowledged_at": said_at(state.acknowledged_at),
        "acknowledged_by": state.acknowledged_by,
        "returned_at": said_at(state.returned_at),
        "reason": state.reason,
        "unknown_since": said_at(state.unknown_since) if state.cause_stands else None,
        "consequence": state.consequence,
        "advice": state.advice,
        "respond_by": said_at(state.respond_by),
    }


def said_at(at: datetime | None) -> str | None:
    """A time in RFC 3339, UTC, to the second."""
    return None if at is None else at.astimezone(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
