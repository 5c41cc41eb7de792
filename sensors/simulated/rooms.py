"""The air, walls and floor of a room, step by step: day and night, weather, heating, doors."""

from collections.abc import Sequence
from datetime import datetime
from math import cos, exp, pi
from typing import NamedTuple

from sensors.simulated import chance
from sensors.simulated.happenings import DoorOpened
from sensors.simulated.scenario import Heating, Room, Weather


class Around(NamedTuple):
    """What surrounds a vessel in a room, degrees Celsius."""

    air_c: float
    walls_c: float
    floor_c: float


class Outside:
    """How far the air outside departs from its mean, step by step."""

    def __init__(self, weather: Weather, seed: int, starts: datetime, step_s: float) -> None:
        self._weather = weather
        self._draws = chance.stream(seed, "fronts")
        self._hour = _hour_of(starts)
        self._step_h = step_s / 3600.0
        self._kept = exp(-self._step_h / weather.fronts_h)
        self._front = weather.fronts_c * chance.normal(self._draws, 0)

    def departure_c(self, index: int) -> float:
        """At step `index`; to be asked for 0, 1, 2, … in turn."""
        if index:
            push = self._weather.fronts_c * (1.0 - self._kept**2) ** 0.5
            self._front = self._front * self._kept + push * chance.normal(self._draws, index)
        hour = self._hour + index * self._step_h
        return self._front + _daily(self._weather.swing_c, hour, self._weather.warmest_h)


class Indoors:
    """One room, step by step. opened: doors that are opened in it at given times."""

    def __init__(
        self,
        name: str,
        room: Room,
        seed: int,
        starts: datetime,
        step_s: float,
        opened: Sequence[DoorOpened] = (),
    ) -> None:
        self._room = room
        self._opened = opened
        self._hour = _hour_of(starts)
        self._step_h = step_s / 3600.0
        self._draws = chance.stream(seed, f"doors/{name}")
        self._draught = 0.0
        self._lift = 0.0
        self._walls: float | None = None
        self._floor = 0.0

    def around(self, index: int, outside_c: float) -> Around:
        """At step `index`, to be asked for in turn. outside_c: the departure outside at that step."""
        room = self._room
        hour = self._hour + index * self._step_h
        air = room.mean_c + _daily(room.swing_c, hour, room.warmest_h) + room.outdoors * outside_c
        if room.heating is not None:
            air += self._heated(room.heating, hour, first=index == 0)
        if self._walls is None:
            self._walls, self._floor = air, air
        else:
            self._walls += (air - self._walls) * (1.0 - exp(-self._step_h / room.walls_h))
            self._floor += (air - self._floor) * (1.0 - exp(-self._step_h / room.floor_h))
        if room.doors is not None:
            self._draught *= exp(-self._step_h * 60.0 / room.doors.recover_min)
            if chance.unit(self._draws, index) < room.doors.per_day * self._step_h / 24.0:
                self._draught += room.doors.drop_c
        air -= self._draught
        for door in self._opened:
            since_min = (index * self._step_h - door.at_h) * 60.0
            if since_min >= 0.0:
                air -= door.drop_c * exp(-since_min / door.recover_min)
        return Around(air, self._walls, self._floor - room.floor_below_c)

    def _heated(self, heating: Heating, hour: float, *, first: bool) -> float:
        """What the heating adds: an hour's approach to its lift, with a saw-tooth as the valve cycles."""
        runs = (hour - heating.on_h) % 24.0 < (heating.off_h - heating.on_h) % 24.0
        goal = heating.lift_c if runs else 0.0
        self._lift = goal if first else self._lift + (goal - self._lift) * (1.0 - exp(-self._step_h))
        if not runs:
            return self._lift
        phase = (hour * 60.0 / heating.period_min) % 1.0
        return self._lift + heating.ripple_c * (abs(4.0 * phase - 2.0) - 1.0)


def _daily(swing_c: float, hour: float, warmest_h: float) -> float:
    return swing_c * cos((hour - warmest_h) * pi / 12.0)


def _hour_of(when: datetime) -> float:
    return when.hour + when.minute / 60.0 + when.second / 3600.0
