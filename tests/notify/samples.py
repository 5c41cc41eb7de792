"""Messages for the tests, all of our own invention."""

from datetime import UTC, datetime

from service.notify.envelope import Envelope

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
ALARM: dict[str, object] = {"id": "a-7", "key": "above-band", "vessel_id": "bucket", "priority": "high"}


def an_envelope(n: int = 1, *, at: datetime = NOON, vessel: str | None = "bucket") -> Envelope:
    return Envelope(
        id=f"m-{n}",
        reason="first",
        vessel=vessel,
        title=f"Bucket: above the band ({n})",
        text=f"Bucket is at 22.6 C, 1.1 C over the band (message {n}).\nMove it somewhere cooler.",
        alarms=({**ALARM, "id": f"a-{n}"},),
        at=at,
    )
