"""The addresses from which charts take their first points, so that a browser can fetch them early."""

from datetime import datetime, timedelta
from urllib.parse import quote, urlencode

DAY = timedelta(days=1)
DAY_POINTS = 400
BATCH_POINTS = 800
LEAST = timedelta(minutes=30)


def series_url(base: str, batch_id: str, begins: datetime, ends: datetime, points: int) -> str:
    """The series of a batch between two times, in whole seconds."""
    query = {"from": _stamp(begins), "to": _stamp(ends), "points": points}
    return f"{base}/api/v1/batches/{quote(batch_id, safe='')}/series?{urlencode(query)}"


def day_url(base: str, batch_id: str, now: datetime) -> str:
    """The last day."""
    return series_url(base, batch_id, now - DAY, now, DAY_POINTS)


def whole_url(base: str, batch_id: str, begins: datetime, ended: datetime | None, now: datetime) -> str:
    """The whole of a batch."""
    return series_url(base, batch_id, begins, max(begins + LEAST, ended or now), BATCH_POINTS)


def _stamp(at: datetime) -> str:
    return at.isoformat(timespec="seconds").replace("+00:00", "Z")
