"""The twin of a fermenter in a kitchen."""

from datetime import UTC, datetime

from sensors.simulated import kinetics, wort
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

    @property
    def notes(self) -> tuple[str, ...]:
        """Says so when the beer is pitched outside the range that its kinetics were fitted in."""
        pitched_c = self.scenario.beer.pitched_c
        if not kinetics.extrapolated(pitched_c):
            return ()
        return (
            f"The simulated fermentation is extrapolated: it was fitted at {kinetics.FITTED_FROM_C:g} to "
            f"{kinetics.FITTED_TO_C:g} C, and this beer is pitched at {pitched_c:g} C.",
        )

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
