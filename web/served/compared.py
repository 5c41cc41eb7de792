"""Batches side by side on the running service."""

from collections.abc import Sequence

from service.actions.compare import compare
from service.actions.desk import Desk
from web.comparing import ComparedView, ComparisonView, DifferenceView


class ComparedPart:
    """What the page that compares asks."""

    _desk: Desk

    def compared(self, ids: Sequence[str]) -> ComparisonView:
        """These batches in this order."""
        found = compare(self._desk, ids)
        liquids = {c.batch_id: c.mean_c for c in found.curves if c.role == "liquid"}
        return ComparisonView(
            batches=[ComparedView(b.id, b.name, b.state, b.aligned_at, b.aligned_by) for b in found.batches],
            hours=found.hours,
            liquids=[liquids[b.id] for b in found.batches],
            differences=[
                DifferenceView(d.what, d.unit, d.values, d.spread, d.same) for d in found.differences
            ],
        )
