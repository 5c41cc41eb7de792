"""A kettle on brewing day: what is in it, and what is done to it in turn. Plain values only."""

from dataclasses import dataclass
from datetime import datetime
from typing import Annotated, ClassVar

from sensors.simulated.faults import Fault
from sensors.simulated.limits import (
    Between,
    Conductance,
    Degrees,
    Gravity,
    Litres,
    Minutes,
    Seconds,
    Watts,
)

Kilograms = Annotated[float, Between(0.05, 100.0, "kg")]


@dataclass(frozen=True, slots=True)
class MashIn:
    """Malt goes into the water; the mash has its temperature at once."""

    kind: ClassVar[str] = "mash-in"

    malt_kg: Kilograms
    malt_c: Degrees = 18.0
    slaking_c: Annotated[float, Between(0.0, 5.0, "C")] = 2.3


@dataclass(frozen=True, slots=True)
class Stand:
    """Left to itself, as a mash or a steep. loss_w_per_k: what it loses to the kitchen meanwhile; null is
    the kettle's own."""

    kind: ClassVar[str] = "stand"

    lasts_min: Minutes
    loss_w_per_k: Conductance | None = None


@dataclass(frozen=True, slots=True)
class Heat:
    """Heated, until it has `until_c` if that is given, and for at most `lasts_min`. It boils when hot
    enough, and stays there while water goes off as steam."""

    kind: ClassVar[str] = "heat"

    watts: Watts
    lasts_min: Minutes
    until_c: Degrees | None = None


@dataclass(frozen=True, slots=True)
class Chill:
    """Stood in a sink of cold water, which is changed every `change_every_min` unless that is null."""

    kind: ClassVar[str] = "chill"

    lasts_min: Minutes
    bath_litres: Litres = 20.0
    water_c: Degrees = 12.0
    change_every_min: Minutes | None = None
    bath_w_per_k: Conductance = 60.0


@dataclass(frozen=True, slots=True)
class TopUp:
    """Water goes in, and is mixed at once."""

    kind: ClassVar[str] = "top-up"

    litres: Litres
    water_c: Degrees


KettleStep = MashIn | Stand | Heat | Chill | TopUp


@dataclass(frozen=True, slots=True)
class KettleScene:
    """A kettle that begins with so many litres at a temperature; then the steps, one after another; after
    the last it is left to itself.

    starts: aware UTC. boils_at_c: the boiling point there. gravity: of the wort at the start (1.0 is water).
    loss_w_per_k: what the kettle loses to the kitchen. Defaults: a bare 10 litre steel pot, estimated.
    """

    kind: ClassVar[str] = "kettle"

    name: str
    starts: datetime
    litres: Litres
    begins_c: Degrees
    steps: tuple[KettleStep, ...]
    gravity: Gravity = 1.0
    kitchen_c: Degrees = 20.0
    boils_at_c: Annotated[float, Between(80.0, 105.0, "C")] = 99.8
    loss_w_per_k: Conductance = 4.0
    probe_lag_s: Seconds = 20.0
    faults: tuple[Fault, ...] = ()
