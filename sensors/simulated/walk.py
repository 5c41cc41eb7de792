"""A fermenter moved ahead minute by minute: room, what is done to it, yeast, heat and probes in turn."""

from typing import NamedTuple

from sensors.simulated import wort
from sensors.simulated.conditions import conditions_at
from sensors.simulated.fermentation import Fermentation
from sensors.simulated.happenings import DoorOpened, HeatPad, SugarAdded
from sensors.simulated.probe import FollowingTip
from sensors.simulated.rooms import Around, Indoors, Outside
from sensors.simulated.scenario import Scenario
from sensors.simulated.tip import Tip, Where
from sensors.simulated.vessel import Bodies, Heats, VesselThermal

STEP_S = 60.0
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
    pad_w: float
    fridge_w: float


class Walk:
    """The rows of one scenario, one after another."""

    def __init__(self, scenario: Scenario, seed: int) -> None:
        self._scenario = scenario
        self._index = 0
        self._outside = Outside(scenario.weather, seed, scenario.starts, STEP_S)
        self._rooms = {
            name: Indoors(name, room, seed, scenario.starts, STEP_S, _doors(scenario, name))
            for name, room in scenario.rooms.items()
        }
        self._around = self._look_around()
        self._sugar = sorted(
            (h for h in scenario.happenings if isinstance(h, SugarAdded)), key=lambda h: h.at_h, reverse=True
        )
        self._conditions = conditions_at(scenario, 0.0)
        self._ferment = Fermentation(scenario.beer)
        self._thermal = VesselThermal(scenario.vessel, STEP_S)
        around = self._around[self._conditions.place]
        self._bodies = self._thermal.at_pitching(scenario.beer.pitched_c, around, self._conditions)
        self._pads_on: dict[HeatPad, bool] = {}
        self._fridge_on = False
        self._probe = FollowingTip(_felt(self._conditions.probe, self._bodies))
        self._room_probe = FollowingTip(_felt(scenario.room_probe, self._bodies))

    def next_row(self) -> Row:
        """The state at this point of the grid; then everything moves one step on."""
        hour = self._index * STEP_S / 3600.0
        while self._sugar and self._sugar[-1].at_h <= hour:
            self._ferment.add_sugar(self._sugar.pop().grams)
        if hour >= self._conditions.until_h:
            self._change(hour)
        bodies, conditions, probe = self._bodies, self._conditions, self._conditions.probe
        share, fermented = self._ferment.share, self._ferment.fermented_per_kg
        original = self._ferment.original_plato
        gone_kg = self._ferment.advance(bodies.beer_c, STEP_S / 3600.0)
        heats = Heats(gone_kg * wort.HEAT_KJ_PER_KG * 1000.0 / STEP_S, self._pad_w(), self._fridge_w())
        row = Row(
            bodies.near_c,
            bodies.upper_c,
            bodies.lower_c,
            bodies.wall_c,
            self._probe.temp_c + probe.offset_c,
            self._room_probe.temp_c + self._scenario.room_probe.offset_c,
            original,
            fermented,
            heats.yeast_w,
            share,
            heats.pad_w,
            heats.fridge_w,
        )

        self._index += 1
        later = self._look_around()
        gas_stirs = heats.yeast_w > _STIRRED_ABOVE_W_PER_L * self._scenario.beer.litres
        self._bodies = self._thermal.ahead(
            bodies,
            (self._around[conditions.place], later[conditions.place]),
            heats,
            conditions,
            self._ferment.mass_kg,
            stirred=gas_stirs or bodies.lower_c > bodies.upper_c,
        )
        self._around = later
        for tip, setting in ((self._probe, probe), (self._room_probe, self._scenario.room_probe)):
            tip.ahead(_felt(setting, bodies), _felt(setting, self._bodies), STEP_S, setting.lag_s)
        return row

    def _change(self, hour: float) -> None:
        """From here on something else holds; what was carried away stands in the air of its new place."""
        self._conditions = conditions_at(self._scenario, hour)
        if self._conditions.fridge is None:
            self._bodies = self._bodies._replace(near_c=self._around[self._conditions.place].air_c)

    def _look_around(self) -> dict[str, Around]:
        outside_c = self._outside.departure_c(self._index)
        return {name: room.around(self._index, outside_c) for name, room in self._rooms.items()}

    def _pad_w(self) -> float:
        """What the pads give now, each by its own thermostat in the beer."""
        beer_c, total = self._bodies.beer_c, 0.0
        for pad in self._conditions.pads:
            on = self._pads_on.get(pad, True)
            if pad.on_below_c is not None and beer_c < pad.on_below_c:
                on = True
            if pad.off_above_c is not None and beer_c > pad.off_above_c:
                on = False
            self._pads_on[pad] = on
            total += pad.watts if on else 0.0
        return total

    def _fridge_w(self) -> float:
        """What the fridge takes out of its air now."""
        fridge = self._conditions.fridge
        if fridge is None:
            return 0.0
        if self._bodies.near_c > fridge.on_above_c:
            self._fridge_on = True
        elif self._bodies.near_c < fridge.off_below_c:
            self._fridge_on = False
        return fridge.watts if self._fridge_on else 0.0


def _doors(scenario: Scenario, room: str) -> tuple[DoorOpened, ...]:
    return tuple(h for h in scenario.happenings if isinstance(h, DoorOpened) and h.room == room)


def _felt(tip: Tip, bodies: Bodies) -> float:
    """What surrounds a tip, C."""
    match tip.at:
        case Where.TOP:
            here = bodies.upper_c
        case Where.MIDDLE:
            here = bodies.beer_c
        case Where.BOTTOM:
            here = bodies.lower_c
        case Where.WALL:
            here = bodies.wall_c
        case Where.AIR:
            return bodies.near_c
    return here + tip.air_share * (bodies.near_c - here)
