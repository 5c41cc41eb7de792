"""The chart of a batch on the running service: its curves, and what is told beside them."""

from collections.abc import Sequence
from datetime import datetime

from service.actions import batches, entries
from service.actions.desk import Desk
from service.record.estimates import kept_estimates
from web.bench import BenchView, EntryView
from web.chart import Curves, GravityPoint, Moment, Story
from web.served.bench import entry_view
from web.served.curved import curves_of
from web.served.foreseen import ahead_of
from web.served.outlook import Outlooks
from web.views import AheadPoint

MOST_ESTIMATES = 200
EVERY_ESTIMATE = 1000
TOLD = ("notes", "sightings", "additions")


class CurvesPart:
    """What the chart of a batch asks."""

    _desk: Desk
    _outlooks: Outlooks

    def curves(self, batch_id: str, begins: datetime | None, ends: datetime | None, points: int) -> Curves:
        """What was measured between two times; the whole batch unless said."""
        one, _ = batches.one_batch(self._desk, batch_id)
        return curves_of(self._desk, one, begins, ends, points)

    def story(self, batch_id: str, record: BenchView | None = None) -> Story:
        """What is told beside the curves; the way ahead only when one is kept."""
        one, version = batches.one_batch(self._desk, batch_id)
        seen = self._outlooks.of(batch_id, version) if one.ended_at is None else None
        ahead: Sequence[AheadPoint] | None = () if one.ended_at is not None else None
        if seen is not None:
            ahead = ahead_of(seen)
        told = [e for name in TOLD for e in self._entries(batch_id, name, record)]
        readings = self._entries(batch_id, "readings", record)
        return Story(
            ahead=ahead,
            leaves_band_at=None if seen is None else seen.forecast.leaves_band_at,
            estimates=self._estimates(batch_id),
            readings=[
                GravityPoint(r.at, r.gravity, r.low, r.high, r.words)
                for r in sorted(readings, key=lambda r: r.at)
                if r.gravity is not None and r.low is not None and r.high is not None
            ],
            stages=[
                Moment(step.entered_at, step.key)
                for step in reversed(batches.stages_of(self._desk, batch_id))
            ],
            moments=[Moment(e.at, e.words) for e in sorted(told, key=lambda e: (e.at, e.n))],
        )

    def _entries(self, batch_id: str, name: str, record: BenchView | None) -> Sequence[EntryView]:
        if record is not None:
            return record.listed(name)
        return [entry_view(name, e) for e in entries.every_entry(self._desk, batch_id, name)]

    def _estimates(self, batch_id: str) -> list[GravityPoint]:
        """The estimates as they were told, oldest first, evenly thinned; the newest always stays."""
        with self._desk.record.reading() as connection:
            kept = kept_estimates(connection, batch_id, None, EVERY_ESTIMATE)
        known = [k for k in kept if (k.body.get("gravity") or {}).get("value") is not None]
        step = -(-len(known) // MOST_ESTIMATES) or 1
        return [
            GravityPoint(
                k.at, k.body["gravity"]["value"], k.body["gravity"]["low"], k.body["gravity"]["high"]
            )
            for k in reversed(known[::step])
        ]
