"""The twin of a fermenter in a kitchen: computed as far as it was asked for, and kept."""

from array import array
from datetime import UTC, datetime
from threading import Lock

from sensors.simulated import wort
from sensors.simulated.moment import Moment
from sensors.simulated.scenario import Scenario
from sensors.simulated.walk import STEP_S, Row, Walk

_WIDTH = len(Row._fields)


class Kitchen:
    """One scenario under one seed. Between the points of its one-minute grid it is a straight line.

    Safe to ask from several threads.
    """

    def __init__(self, scenario: Scenario, seed: int) -> None:
        self.scenario = scenario
        self._lock = Lock()
        self._rows = array("d")
        self._walk = Walk(scenario, seed)

    @property
    def starts(self) -> datetime:
        """When the yeast was pitched (aware UTC)."""
        return self.scenario.starts

    def at(self, t: datetime) -> Moment:
        """How it is at a time; always the same for the same time, whatever was asked before.

        Raises ValueError for a naive time and for one before the start.
        """
        if t.tzinfo is None:
            raise ValueError(f"{t.isoformat()} has no time zone: give an aware time")
        steps = (t - self.starts).total_seconds() / STEP_S
        if steps < 0.0:
            raise ValueError(
                f"the simulation starts at {self.starts.isoformat()}; {t.isoformat()} is earlier"
            )
        index = int(steps)
        part = steps - index
        first = index * _WIDTH
        with self._lock:
            while len(self._rows) < first + 2 * _WIDTH:
                self._rows.extend(self._walk.next_row())
            pair = self._rows[first : first + 2 * _WIDTH]
        return _moment(
            t.astimezone(UTC),
            Row(*(a + (b - a) * part for a, b in zip(pair[:_WIDTH], pair[_WIDTH:], strict=True))),
        )


def _moment(at: datetime, row: Row) -> Moment:
    return Moment(
        at=at,
        air_c=row.air_c,
        beer_c=(row.top_c + row.bottom_c) / 2,
        top_c=row.top_c,
        bottom_c=row.bottom_c,
        wall_c=row.wall_c,
        probe_c=row.probe_c,
        room_probe_c=row.room_probe_c,
        gravity=wort.gravity_after(row.original_plato, row.fermented),
        heat_w=row.heat_w,
        share=row.share,
    )
