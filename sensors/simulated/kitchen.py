"""The twin of a fermenter in a kitchen."""

from datetime import UTC, datetime

from sensors.simulated import wort
from sensors.simulated.grid import Grid
from sensors.simulated.moment import Moment
from sensors.simulated.scenario import Scenario
from sensors.simulated.walk import STEP_S, Row, Walk


class Kitchen:
    """One scenario under one seed."""

    def __init__(self, scenario: Scenario, seed: int) -> None:
        self.scenario = scenario
        self._grid = Grid(scenario.starts, STEP_S, len(Row._fields), Walk(scenario, seed).next_row)

    @property
    def starts(self) -> datetime:
        """When the yeast was pitched (aware UTC)."""
        return self.scenario.starts

    def at(self, t: datetime) -> Moment:
        """How it is at a time; always the same for the same time, whatever was asked before.

        Raises ValueError for a naive time and for one before the start.
        """
        row = Row(*self._grid.at(t))
        return Moment(
            at=t.astimezone(UTC),
            air_c=row.air_c,
            beer_c=(row.top_c + row.bottom_c) / 2,
            top_c=row.top_c,
            bottom_c=row.bottom_c,
            wall_c=row.wall_c,
            probe_c=row.probe_c,
            room_probe_c=row.room_probe_c,
            bath_c=row.air_c,
            gravity=wort.gravity_after(row.original_plato, row.fermented),
            heat_w=row.heat_w,
            share=row.share,
            pad_w=row.pad_w,
            fridge_w=row.fridge_w,
        )
