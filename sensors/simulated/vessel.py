"""The bodies of a fermenter, and how heat goes between them: two halves of beer, wall, air of a fridge."""

from typing import NamedTuple

from sensors.simulated import wort
from sensors.simulated.conditions import Conditions
from sensors.simulated.network import Stepper
from sensors.simulated.rooms import Around
from sensors.simulated.scenario import Vessel


class Bodies(NamedTuple):
    """Temperatures, C. Outside a fridge `near_c`, the air at the vessel, is the room's air."""

    upper_c: float
    lower_c: float
    wall_c: float
    near_c: float

    @property
    def beer_c(self) -> float:
        """The mean of both halves."""
        return (self.upper_c + self.lower_c) / 2


class Heats(NamedTuple):
    """Heat that goes in (W): from the yeast into the beer, from pads into the wall; out of a fridge's air."""

    yeast_w: float
    pad_w: float
    fridge_w: float


class VesselThermal:
    """A vessel that is moved ahead by steps of one length."""

    def __init__(self, vessel: Vessel, step_s: float) -> None:
        self._vessel = vessel
        self._step_s = step_s
        self._steppers: dict[tuple[object, ...], Stepper] = {}

    def at_pitching(self, beer_c: float, around: Around, conditions: Conditions) -> Bodies:
        """Beer at its pitching temperature, and a wall settled between it and the room."""
        inner, outer = self._vessel.inner_w_per_k, self._vessel.outer_w_per_k * conditions.times
        outside_c = self._surroundings_c(around, conditions)
        return Bodies(beer_c, beer_c, (inner * beer_c + outer * outside_c) / (inner + outer), around.air_c)

    def ahead(
        self,
        bodies: Bodies,
        around: tuple[Around, Around],
        heats: Heats,
        conditions: Conditions,
        beer_kg: float,
        *,
        stirred: bool,
    ) -> Bodies:
        """The bodies one step later. around: what surrounds them now and at the end of the step."""
        key = (conditions.times, conditions.fridge, beer_kg, stirred)
        stepper = self._steppers.get(key)
        if stepper is None:
            stepper = self._steppers[key] = self._stepper(conditions, beer_kg, stirred=stirred)
        capacities = self._capacities(conditions, beer_kg)
        inflow = [
            [
                watts / capacity
                for watts, capacity in zip(self._watts(place, heats, conditions), capacities, strict=True)
            ]
            for place in around
        ]
        temps = stepper.ahead(bodies[: len(capacities)], *inflow)
        near_c = temps[3] if conditions.fridge else around[1].air_c
        return Bodies(temps[0], temps[1], temps[2], near_c)

    def _capacities(self, conditions: Conditions, beer_kg: float) -> tuple[float, ...]:
        half = beer_kg * wort.HEAT_CAPACITY_KJ_PER_KG_K * 1000.0 / 2
        wall = self._vessel.wall_kj_per_k * 1000.0
        fridge = conditions.fridge
        return (half, half, wall, fridge.air_kj_per_k * 1000.0) if fridge else (half, half, wall)

    def _stepper(self, conditions: Conditions, beer_kg: float, *, stirred: bool) -> Stepper:
        vessel, fridge = self._vessel, conditions.fridge
        links = {
            (0, 1): vessel.working_w_per_k if stirred else vessel.calm_w_per_k,
            (0, 2): vessel.inner_w_per_k / 2,
            (1, 2): vessel.inner_w_per_k / 2,
        }
        outer = vessel.outer_w_per_k * conditions.times
        outlets = [0.0, vessel.floor_w_per_k, outer]
        if fridge:
            links |= {(2, 3): outer, (1, 3): vessel.floor_w_per_k}
            outlets = [0.0, 0.0, 0.0, fridge.wall_w_per_k]
        return Stepper(self._capacities(conditions, beer_kg), links, outlets, self._step_s)

    def _watts(self, around: Around, heats: Heats, conditions: Conditions) -> tuple[float, ...]:
        """Heat that reaches each body from outside the network, given temperatures counted from 0 C."""
        vessel, fridge = self._vessel, conditions.fridge
        each = heats.yeast_w / 2
        outer = vessel.outer_w_per_k * conditions.times
        if fridge:
            cloth_w = outer * conditions.below_c
            return each, each, heats.pad_w - cloth_w, fridge.wall_w_per_k * around.air_c - heats.fridge_w
        from_floor = vessel.floor_w_per_k * around.floor_c
        return each, each + from_floor, heats.pad_w + outer * self._surroundings_c(around, conditions)

    def _surroundings_c(self, around: Around, conditions: Conditions) -> float:
        """What the wall's outside exchanges heat with: air, the room's walls, and a wet cloth's chill."""
        walls_share = self._vessel.walls_share
        return around.air_c + walls_share * (around.walls_c - around.air_c) - conditions.below_c
