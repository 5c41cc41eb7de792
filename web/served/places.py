"""Where a batch is and was, on the running service."""

from collections.abc import Mapping
from typing import Any

from service.actions.asks import NewPlace, PlaceChange
from service.actions.batches import leave_place, move_batch, one_batch, places_of
from service.actions.desk import Desk
from web.pages.places import PlaceLine, PlacesView
from web.served.asked import asked


class PlacesPart:
    """What the page of a batch's places asks."""

    _desk: Desk

    def places(self, batch_id: str) -> PlacesView:
        """The batch's places, newest first, and the vessels it could go into."""
        one, _ = one_batch(self._desk, batch_id)
        found = places_of(self._desk, batch_id)
        vessels = {v.id: v.name for v in self._desk.watch.house.vessels.values()}
        open_here = [p.vessel_id for p in sorted(found, key=lambda p: p.n) if p.to is None]
        return PlacesView(
            id=one.id,
            name=one.name,
            lines=tuple(
                PlaceLine(p.n, vessels.get(p.vessel_id, p.vessel_id), p.from_, p.to)
                for p in sorted(found, key=lambda p: (p.from_, p.n), reverse=True)
            ),
            vessels=tuple((key, name) for key, name in vessels.items() if key not in open_here),
            here=tuple((key, vessels.get(key, key)) for key in open_here),
            over=one.state == "ended",
        )

    def move(self, batch_id: str, by: str, fields: Mapping[str, Any]) -> None:  # noqa: ARG002
        """Move it, or a part of it."""
        move_batch(self._desk, batch_id, asked(NewPlace, fields))

    def empty(self, batch_id: str, n: int, by: str) -> None:  # noqa: ARG002
        """One of its vessels is empty now."""
        leave_place(self._desk, batch_id, n, PlaceChange())
