"""The addresses from which charts take their first points, so that a browser can fetch them early."""

from datetime import datetime, timedelta
from urllib.parse import quote, urlencode

DAY = timedelta(days=1)
DAY_POINTS = 300
BATCH_POINTS = 800
LEAST = timedelta(minutes=30)


def chart_url(base: str, batch_id: str) -> str:
    """The chart of a batch."""
    return f"{base}/batches/{quote(batch_id, safe='')}/chart"


def day_url(base: str, batch_id: str, now: datetime) -> str:
    """The last day."""
    return _between(base, batch_id, now - DAY, now, {"points": DAY_POINTS})


def whole_url(base: str, batch_id: str, begins: datetime, ended: datetime | None, now: datetime) -> str:
    """The whole of a batch, with what is told beside it."""
    ends = max(begins + LEAST, ended or now)
    return _between(base, batch_id, begins, ends, {"points": BATCH_POINTS, "story": 1})


def _between(base: str, batch_id: str, begins: datetime, ends: datetime, more: dict[str, int]) -> str:
    query = {"from": int(begins.timestamp()), "to": int(ends.timestamp()), **more}
    return f"{chart_url(base, batch_id)}?{urlencode(query)}"
