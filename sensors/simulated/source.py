"""A source like the others whose probes hang in a twin."""

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from enum import StrEnum
from types import MappingProxyType

from sensors.bus import RawValue, Sweep
from sensors.sample import ProbeId
from sensors.simulated import chance
from sensors.simulated.moment import Moment, Twin
from sensors.simulated.probe import CONVERSION_S, STEPS_PER_C, register_of, scratchpad_of


class Quantity(StrEnum):
    """What of a moment a probe shows: a temperature field of `Moment`, by its name."""

    BEER_PROBE = "probe_c"
    ROOM_PROBE = "room_probe_c"
    BEER = "beer_c"
    TOP = "top_c"
    BOTTOM = "bottom_c"
    WALL = "wall_c"
    AIR = "air_c"

    def of(self, moment: Moment) -> float:
        """That temperature, degrees Celsius."""
        value: float = getattr(moment, self.value)
        return value


BUCKET, CUPBOARD = ProbeId("sim-bucket"), ProbeId("sim-cupboard")

USUAL_PROBES: Mapping[ProbeId, Quantity] = MappingProxyType(
    {BUCKET: Quantity.BEER_PROBE, CUPBOARD: Quantity.ROOM_PROBE}
)


class SimulatedSource:
    """Probes in a twin, read as DS18B20 at 12 bits with scratchpads that check.

    probes: which temperature each probe shows. noise_c: deviation of a part's own flicker, C.
    """

    def __init__(
        self,
        twin: Twin,
        probes: Mapping[ProbeId, Quantity] = USUAL_PROBES,
        *,
        seed: int = 0,
        noise_c: float = 0.015,
    ) -> None:
        self._twin = twin
        self._probes = dict(probes)
        self._noise_c = noise_c
        self._flicker = {probe: chance.stream(seed, f"flicker/{probe}") for probe in probes}

    @property
    def name(self) -> str:
        """`simulated`: the `source` of its probes."""
        return "simulated"

    def sweep(self, at: datetime) -> Sweep:
        """All probes at a time (aware UTC). A pure function of the time."""
        if at < self._twin.starts:
            return Sweep(
                present=frozenset(),
                values=(),
                faults=(),
                took_s=0.0,
                trouble=f"The simulation starts at {self._twin.starts.isoformat()}: ask for a later time.",
            )
        values = self._values(at)
        return Sweep(present=frozenset(self._probes), values=values, faults=(), took_s=CONVERSION_S)

    def history(self, from_at: datetime, to_at: datetime, every_s: float) -> Iterator[RawValue]:
        """What sweeps every `every_s` seconds would have brought, in order of time, `to_at` left out.

        Begins with the twin where that starts later. Raises ValueError for an interval not above zero.
        """
        if every_s <= 0.0:
            raise ValueError(f"an interval of {every_s} s: give one above zero")
        step = timedelta(seconds=every_s)
        at = from_at
        if at < self._twin.starts:
            at += step * -((at - self._twin.starts) // step)
        while at < to_at:
            yield from self._values(at)
            at += step

    def close(self) -> None:
        """Nothing is held."""

    def _values(self, at: datetime) -> tuple[RawValue, ...]:
        moment = self._twin.at(at)
        tick = int(at.timestamp() * 1000.0)
        return tuple(
            self._value(probe, at, quantity.of(moment), tick) for probe, quantity in self._probes.items()
        )

    def _value(self, probe: ProbeId, at: datetime, true_c: float, tick: int) -> RawValue:
        flicker = self._noise_c * chance.normal(self._flicker[probe], tick) if self._noise_c else 0.0
        register = register_of(true_c + flicker)
        return RawValue(probe, at, register / STEPS_PER_C, CONVERSION_S, scratchpad_of(register))
