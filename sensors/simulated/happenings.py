"""What is done to a fermenter on the way: moved, wrapped, warmed, chilled, opened, fed.

`at_h` is hours after the start. What has a `lasts_h` ends then, or with the scenario when that is null.
"""

from dataclasses import dataclass
from typing import Annotated, ClassVar

from sensors.simulated.limits import (
    Between,
    Conductance,
    Degrees,
    Hours,
    Minutes,
    SomeHours,
    Span,
    Times,
    Watts,
)
from sensors.simulated.tip import Tip


@dataclass(frozen=True, slots=True)
class Move:
    """The vessel is carried to another room."""

    kind: ClassVar[str] = "move"

    at_h: Hours
    to: str


@dataclass(frozen=True, slots=True)
class WetCloth:
    """A wet cloth around the vessel: it passes more heat, and to a surface that is colder than the air.

    Estimates; how much colder depends on how dry the air is.
    """

    kind: ClassVar[str] = "wet-cloth"

    at_h: Hours
    lasts_h: SomeHours | None = None
    times: Times = 1.5
    below_c: Span = 2.5


@dataclass(frozen=True, slots=True)
class Lagging:
    """Something warm around the vessel: it passes less heat."""

    kind: ClassVar[str] = "lagging"

    at_h: Hours
    lasts_h: SomeHours | None = None
    times: Times = 0.4


@dataclass(frozen=True, slots=True)
class DoorOpened:
    """One door, once: the air of a room falls by `drop_c` (rises, when negative) and recovers."""

    kind: ClassVar[str] = "door"

    at_h: Hours
    room: str
    drop_c: Annotated[float, Between(-15.0, 15.0, "C")] = 2.0
    recover_min: Minutes = 10.0


@dataclass(frozen=True, slots=True)
class SugarAdded:
    """Sugar goes into the beer, all of which can ferment."""

    kind: ClassVar[str] = "addition"

    at_h: Hours
    grams: Annotated[float, Between(1.0, 20_000.0, "g")]


@dataclass(frozen=True, slots=True)
class HeatPad:
    """A pad around the wall that a thermostat in the beer switches; without limits it is always on."""

    kind: ClassVar[str] = "heat-pad"

    at_h: Hours
    watts: Watts
    lasts_h: SomeHours | None = None
    on_below_c: Degrees | None = None
    off_above_c: Degrees | None = None


@dataclass(frozen=True, slots=True)
class Fridge:
    """The vessel stands in a fridge whose thermostat follows its air. Defaults: a small larder fridge,
    estimated."""

    kind: ClassVar[str] = "fridge"

    at_h: Hours
    on_above_c: Degrees
    off_below_c: Degrees
    lasts_h: SomeHours | None = None
    watts: Watts = 50.0
    wall_w_per_k: Conductance = 1.2
    air_kj_per_k: Annotated[float, Between(0.1, 100.0, "kJ/K")] = 8.0


@dataclass(frozen=True, slots=True)
class ProbeMoved:
    """The probe is put elsewhere on purpose, or has come off: then `to` is a tip in the air."""

    kind: ClassVar[str] = "probe-moved"

    at_h: Hours
    to: Tip


Happening = Move | WetCloth | Lagging | DoorOpened | SugarAdded | HeatPad | Fridge | ProbeMoved
