"""What lies ahead of a batch, kept so that no page waits for it: the forecast, and until when it may be left.

Neither is a fit: both start from the newest kept estimate. They still read two weeks of minutes, so they are
computed beside the pages, and only for batches that somebody looks at.
"""

import logging
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime, timedelta

from service.actions.ahead import forecast_of
from service.actions.desk import Desk
from service.actions.insight_answers import ForecastAnswer, UnattendedAnswer
from service.actions.leaving import unattended
from service.errors import GylewatchError

log = logging.getLogger("gylewatch.pages")

HOURS = 48
FRESH = timedelta(minutes=3)
STALE = timedelta(minutes=30)
"""What is older is not shown any more, not even while a new one is made."""

Beside = Callable[[Callable[[], None]], object]
"""Runs something beside the request, at once or soon."""


@dataclass(frozen=True, slots=True)
class Outlook:
    """What was foreseen for a batch at a time, when its version was this."""

    at: datetime
    version: int
    forecast: ForecastAnswer
    leaving: UnattendedAnswer


class Outlooks:
    """The newest outlook of each batch that was asked for. Safe to call from any thread."""

    def __init__(self, desk: Desk, beside: Beside | None = None) -> None:
        self._desk = desk
        self._beside = beside if beside is not None else _one_thread()
        self._kept: dict[str, Outlook] = {}
        self._asked: set[str] = set()
        self._lock = threading.Lock()

    def of(self, batch_id: str, version: int) -> Outlook | None:
        """What is kept of this version and not stale; where it is not fresh a new one is made meanwhile."""
        now = self._desk.now()
        kept = self._kept.get(batch_id)
        if kept is None or kept.version != version or now - kept.at >= FRESH:
            self._want(batch_id, version)
            kept = self._kept.get(batch_id)
        if kept is None or kept.version != version:
            return None
        return kept if timedelta(0) <= now - kept.at < STALE else None

    def _want(self, batch_id: str, version: int) -> None:
        with self._lock:
            if batch_id in self._asked:
                return
            self._asked.add(batch_id)
        self._beside(lambda: self._make(batch_id, version))

    def _make(self, batch_id: str, version: int) -> None:
        try:
            at = self._desk.now()
            forecast = forecast_of(self._desk, batch_id, HOURS)
            found = Outlook(at, version, forecast, unattended(self._desk, batch_id))
            with self._lock:
                self._kept[batch_id] = found
        except GylewatchError as refused:
            log.info("nothing is foreseen for %s: %s", batch_id, refused)
        except Exception:
            log.exception("looking ahead for %s failed", batch_id)
        finally:
            with self._lock:
                self._asked.discard(batch_id)


def _one_thread() -> Beside:
    return ThreadPoolExecutor(max_workers=1, thread_name_prefix="outlook").submit
