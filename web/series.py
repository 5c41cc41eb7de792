"""The addresses from which charts take their first points, so that a browser can fetch them early."""

from datetime import datetime, timedelta
from urllib.parse import quote, urlencode

DAY = timedelta(days=1)
DAY_POINTS = 300
BATCH_POINTS = 800


def chart_url(base: str, batch_id: str) -> str:
    """The chart of a batch."""
    return f"{base}/batches/{quote(batch_id, safe='')}/chart"


def day_url(base: str, batch_id: str, now: datetime) -> str:
    """The last day."""
    query = {"from": int((now - DAY).timestamp()), "to": int(now.timestamp()), "points": DAY_POINTS}
    return f"{chart_url(base, batch_id)}?{urlencode(query)}"
