"""A source like the others whose probes hang in a twin."""

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from enum import StrEnum
from types import MappingProxyType

from sensors.bus import RawValue, Sweep
from sensors.buses import BusSweep
from sensors.sample import ProbeFault, ProbeId
from sensors.simulated import chance
from sensors.simulated.failing import read_during, read_s_of
from sensors.simulated.faults import Fault, FaultScript
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
    BATH = "bath_c"

    def of(self, moment: Moment) -> float:
        """That temperature, degrees Celsius."""
        value: float = getattr(moment, self.value)
        return value


BUCKET, CUPBOARD = ProbeId("sim-bucket"), ProbeId("sim-cupboard")
KETTLE, SINK, KITCHEN = ProbeId("sim-kettle"), ProbeId("sim-sink"), ProbeId("sim-kitchen")

USUAL_PROBES: Mapping[ProbeId, Quantity] = MappingProxyType(
    {BUCKET: Quantity.BEER_PROBE, CUPBOARD: Quantity.ROOM_PROBE}
)


KETTLE_PROBES: Mapping[ProbeId, Quantity] = MappingProxyType(
    {
        KETTLE: Quantity.BEER_PROBE,
        SINK: Quantity.BATH,
        KITCHEN: Quantity.ROOM_PROBE,
    }
)


class SimulatedSource:
    """Probes in a twin, read as DS18B20 at 12 bits with scratchpads that check, on one bus.

    probes: which temperature each probe shows. faults: what goes wrong with them. noise_c: deviation of a
    part's own flicker, C.
    """

    def __init__(
        self,
        twin: Twin,
        probes: Mapping[ProbeId, Quantity] = USUAL_PROBES,
        *,
        seed: int = 0,
        faults: tuple[Fault, ...] = (),
        noise_c: float = 0.015,
    ) -> None:
        self._twin = twin
        self._probes = dict(probes)
        self._bus = frozenset(probes)
        self._noise_c = noise_c
        self._latest: Moment | None = None
        self._flicker = {probe: chance.stream(seed, f"flicker/{probe}") for probe in probes}
        self._scripts = {probe: FaultScript(faults, probe, twin.starts, seed) for probe in probes}

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
        results = [(probe, self._read(probe, at)) for probe in self._probes]
        brought = [result for _, result in results if result is not None]
        return BusSweep(
            present=frozenset(probe for probe, result in results if result is not None),
            values=tuple(result for result in brought if isinstance(result, RawValue)),
            faults=tuple(result for result in brought if isinstance(result, ProbeFault)),
            notes=self._twin.notes,
            took_s=max((read_s_of(result) for result in brought), default=0.0),
            buses=(self._bus,),
        )

    def sweeps(self, from_at: datetime, to_at: datetime, every_s: float) -> Iterator[Sweep]:
        """The sweeps of a span of time in turn, `to_at` left out; begins with the twin where that is later.

        Raises ValueError for an interval not above zero.
        """
        return map(self.sweep, self._times(from_at, to_at, every_s))

    def history(self, from_at: datetime, to_at: datetime, every_s: float) -> Iterator[RawValue]:
        """The values of such sweeps in order of time, without the faults.

        Raises ValueError for an interval not above zero.
        """
        return (value for sweep in self.sweeps(from_at, to_at, every_s) for value in sweep.values)

    def close(self) -> None:
        """Nothing is held."""

    def _times(self, from_at: datetime, to_at: datetime, every_s: float) -> Iterator[datetime]:
        if every_s <= 0.0:
            raise ValueError(f"an interval of {every_s} s: give one above zero")
        step = timedelta(seconds=every_s)
        skipped = max(0, -((from_at - self._twin.starts) // step))
        return _from(from_at + skipped * step, to_at, step)

    def _read(self, probe: ProbeId, at: datetime) -> RawValue | ProbeFault | None:
        spell = self._scripts[probe].acting(at, _tick(at))
        if spell is not None:
            return read_during(spell, probe, at, lambda t: self._register(probe, t))
        register = self._register(probe, at)
        return RawValue(probe, at, register / STEPS_PER_C, CONVERSION_S, scratchpad_of(register))

    def _register(self, probe: ProbeId, at: datetime) -> int:
        true_c = self._probes[probe].of(self._moment(at))
        flicker = self._noise_c * chance.normal(self._flicker[probe], _tick(at)) if self._noise_c else 0.0
        return register_of(true_c + flicker)

    def _moment(self, at: datetime) -> Moment:
        """The probes of a sweep share one moment: it is worked out once."""
        moment = self._latest
        if moment is None or moment.at != at:
            moment = self._latest = self._twin.at(at)
        return moment


def _from(at: datetime, to_at: datetime, step: timedelta) -> Iterator[datetime]:
    while at < to_at:
        yield at
        at += step


def _tick(at: datetime) -> int:
    """Milliseconds: what numbers the draws of a read."""
    return int(at.timestamp() * 1000.0)
