"""A fermenter moved ahead minute by minute: room, wall, beer, yeast and probes in turn."""

from typing import NamedTuple

from sensors.simulated import wort
from sensors.simulated.fermentation import Fermentation
from sensors.simulated.network import Stepper
from sensors.simulated.probe import FollowingTip
from sensors.simulated.rooms import Around, Indoors, Outside
from sensors.simulated.scenario import Scenario, Tip, Where

STEP_S = 60.0
_UPPER, _LOWER, _WALL = range(3)
_STIRRED_ABOVE_W_PER_L = 0.02
"""Heat above which the gas that comes with it stirs the vessel; an estimate."""


class Row(NamedTuple):
    """The state at one point of the grid: C, W, kg/kg, Plato and a share."""

    air_c: float
    top_c: float
    bottom_c: float
    wall_c: float
    probe_c: float
    room_probe_c: float
    original_plato: float
    fermented: float
    heat_w: float
    share: float


class Walk:
    """The rows of one scenario, one after another."""

    def __init__(self, scenario: Scenario, seed: int) -> None:
        self._scenario = scenario
        self._index = 0
        self._outside = Outside(scenario.weather, seed, scenario.starts, STEP_S)
        self._rooms = {
            name: Indoors(name, room, seed, scenario.starts, STEP_S) for name, room in scenario.rooms.items()
        }
        self._around = self._look_around()
        self._ferment = Fermentation(scenario.beer)
        self._temps = self._at_pitching()
        self._probe = FollowingTip(self._felt(scenario.probe, self._temps, self._around))
        self._room_probe = FollowingTip(self._felt(scenario.room_probe, self._temps, self._around))
        self._steppers: dict[bool, Stepper] = {}

    def next_row(self) -> Row:
        """The state at this point of the grid; then everything moves one step on."""
        scenario, temps, around = self._scenario, self._temps, self._around
        beer_c = (temps[_UPPER] + temps[_LOWER]) / 2
        share, fermented = self._ferment.share, self._ferment.fermented_per_kg
        original = self._ferment.original_plato
        gone_kg = self._ferment.advance(beer_c, STEP_S / 3600.0)
        heat_w = gone_kg * wort.HEAT_KJ_PER_KG * 1000.0 / STEP_S
        row = Row(
            around.air_c,
            temps[_UPPER],
            temps[_LOWER],
            temps[_WALL],
            self._probe.temp_c + scenario.probe.offset_c,
            self._room_probe.temp_c + scenario.room_probe.offset_c,
            original,
            fermented,
            heat_w,
            share,
        )

        self._index += 1
        later = self._look_around()
        stirred = heat_w > _STIRRED_ABOVE_W_PER_L * scenario.beer.litres or temps[_LOWER] > temps[_UPPER]
        stepper = self._steppers.get(stirred)
        if stepper is None:
            stepper = self._steppers[stirred] = self._stepper(stirred=stirred)
        self._temps = stepper.ahead(temps, self._inflow(around, heat_w), self._inflow(later, heat_w))
        for tip, setting in ((self._probe, scenario.probe), (self._room_probe, scenario.room_probe)):
            before, after = self._felt(setting, temps, around), self._felt(setting, self._temps, later)
            tip.ahead(before, after, STEP_S, setting.lag_s)
        self._around = later
        return row

    def _look_around(self) -> Around:
        outside_c = self._outside.departure_c(self._index)
        rooms = {name: room.around(self._index, outside_c) for name, room in self._rooms.items()}
        return rooms[self._scenario.place]

    def _half_j_per_k(self) -> float:
        return self._ferment.mass_kg * wort.HEAT_CAPACITY_KJ_PER_KG_K * 1000.0 / 2

    def _stepper(self, *, stirred: bool) -> Stepper:
        vessel = self._scenario.vessel
        half = self._half_j_per_k()
        between = vessel.working_w_per_k if stirred else vessel.calm_w_per_k
        links = {
            (_UPPER, _LOWER): between,
            (_UPPER, _WALL): vessel.inner_w_per_k / 2,
            (_LOWER, _WALL): vessel.inner_w_per_k / 2,
        }
        outlets = (0.0, vessel.floor_w_per_k, vessel.outer_w_per_k)
        return Stepper((half, half, vessel.wall_kj_per_k * 1000.0), links, outlets, STEP_S)

    def _inflow(self, around: Around, heat_w: float) -> tuple[float, float, float]:
        vessel = self._scenario.vessel
        half = self._half_j_per_k()
        each = heat_w / 2 / half
        from_floor = vessel.floor_w_per_k * around.floor_c / half
        outer = vessel.outer_w_per_k * _surroundings_c(around, vessel.walls_share)
        return each, each + from_floor, outer / (vessel.wall_kj_per_k * 1000.0)

    def _at_pitching(self) -> tuple[float, ...]:
        """Beer at its pitching temperature, and a wall settled between it and the room."""
        vessel, beer_c = self._scenario.vessel, self._scenario.beer.pitched_c
        outside_c = _surroundings_c(self._around, vessel.walls_share)
        inner, outer = vessel.inner_w_per_k, vessel.outer_w_per_k
        return beer_c, beer_c, (inner * beer_c + outer * outside_c) / (inner + outer)

    @staticmethod
    def _felt(tip: Tip, temps: tuple[float, ...], around: Around) -> float:
        match tip.at:
            case Where.TOP:
                here = temps[_UPPER]
            case Where.MIDDLE:
                here = (temps[_UPPER] + temps[_LOWER]) / 2
            case Where.BOTTOM:
                here = temps[_LOWER]
            case Where.WALL:
                here = temps[_WALL]
            case Where.AIR:
                return around.air_c
        return here + tip.air_share * (around.air_c - here)


def _surroundings_c(around: Around, walls_share: float) -> float:
    return around.air_c + walls_share * (around.walls_c - around.air_c)
