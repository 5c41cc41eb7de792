"""What is simulated: rooms, a vessel, a beer, and what happens to them. Plain values only.

Temperatures are degrees Celsius. Names ending in `_h` are hours: after the start for events, hours of
the day (UTC) for habits such as the warmest hour.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Annotated, ClassVar

from sensors.simulated.faults import Fault
from sensors.simulated.happenings import Happening
from sensors.simulated.limits import (
    Between,
    Conductance,
    Degrees,
    Gravity,
    HourOfDay,
    Hours,
    Litres,
    Minutes,
    Share,
    SomeHours,
    Span,
)
from sensors.simulated.tip import IN_THE_AIR, IN_THE_BEER, Tip


@dataclass(frozen=True, slots=True)
class Weather:
    """The air outside: day and night, and fronts that come and go over `fronts_h` with a deviation of
    `fronts_c`. A room follows its departures from `mean_c` by the room's `outdoors` share."""

    mean_c: Degrees = 9.0
    swing_c: Span = 4.0
    warmest_h: HourOfDay = 15.0
    fronts_c: Span = 2.5
    fronts_h: SomeHours = 48.0


@dataclass(frozen=True, slots=True)
class Heating:
    """A heating system: between two hours of the day it lifts the air, and it cycles while it does."""

    on_h: HourOfDay
    off_h: HourOfDay
    lift_c: Span = 1.5
    ripple_c: Span = 0.3
    period_min: Minutes = 40.0


@dataclass(frozen=True, slots=True)
class Doors:
    """Doors opened at random: the air falls by `drop_c` (or rises, when negative) and recovers."""

    per_day: Annotated[float, Between(0.0, 200.0, "times a day")]
    drop_c: Annotated[float, Between(-15.0, 15.0, "C")] = 1.0
    recover_min: Minutes = 8.0


@dataclass(frozen=True, slots=True)
class Room:
    """The air of one room. Its walls and floor follow the air over `walls_h` and `floor_h`."""

    mean_c: Degrees
    swing_c: Span = 0.5
    warmest_h: HourOfDay = 17.0
    outdoors: Share = 0.0
    walls_h: SomeHours = 6.0
    floor_h: SomeHours = 30.0
    floor_below_c: Span = 0.5
    heating: Heating | None = None
    doors: Doors | None = None


@dataclass(frozen=True, slots=True)
class Vessel:
    """A fermenter with a wall between beer and air.

    The beer is two halves, upper and lower: gas that rises stirs them together (`working_w_per_k`), and
    in a quiet vessel they drift apart (`calm_w_per_k`). The wall holds heat, passes it on to the beer by
    `inner_w_per_k` and to the surroundings by `outer_w_per_k`; the lower half also feels the floor.
    `walls_share` of the outer exchange is radiation to the room's walls. Defaults: a 5 litre plastic
    bucket, estimated as 1.1 W/K in all.
    """

    wall_kj_per_k: Annotated[float, Between(0.001, 50.0, "kJ/K")] = 0.8
    inner_w_per_k: Annotated[float, Between(0.1, 500.0, "W/K")] = 12.0
    outer_w_per_k: Conductance = 1.05
    floor_w_per_k: Conductance = 0.12
    walls_share: Share = 0.25
    calm_w_per_k: Conductance = 2.0
    working_w_per_k: Conductance = 60.0


@dataclass(frozen=True, slots=True)
class Beer:
    """An invented beer. `attenuation` is apparent, by gravity points; `lag_h` is how long at 20 C the
    yeast takes to half of its activity; `pace` makes a yeast quicker or slower; `stops_at_share` ends the
    fermentation at that share of what could ferment."""

    name: str
    litres: Litres
    og: Gravity
    pitched_c: Degrees = 19.0
    attenuation: Share = 0.75
    lag_h: Hours = 8.0
    pace: Annotated[float, Between(0.0, 10.0, "times the usual")] = 1.0
    yeast: Annotated[float, Between(1.0, 1000.0, "mol/m3")] = 125.0
    stops_at_share: Share | None = None


@dataclass(frozen=True, slots=True)
class Scenario:
    """A fermenter in a kitchen, from the pitching of the yeast on.

    starts: aware UTC. The vessel stands in `place`, one of `rooms`, until it is moved. happenings are what
    is done to it on the way, faults what goes wrong with its probes.
    """

    kind: ClassVar[str] = "fermenter"

    name: str
    starts: datetime
    rooms: Mapping[str, Room]
    place: str
    beer: Beer
    vessel: Vessel = field(default=Vessel())
    weather: Weather = field(default=Weather())
    probe: Tip = IN_THE_BEER
    room_probe: Tip = IN_THE_AIR
    happenings: tuple[Happening, ...] = ()
    faults: tuple[Fault, ...] = ()
