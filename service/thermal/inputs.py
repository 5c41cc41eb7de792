"""What an estimate is made from: plain values in, no clock and no record."""

from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum


class Mounting(StrEnum):
    """How the liquid probe is fixed: it decides how much of the air it sees."""

    THERMOWELL = "thermowell"
    LAGGED = "lagged"
    BARE = "bare"
    IMMERSED = "immersed"


class Near(StrEnum):
    """What else moves the vessel's temperature."""

    HEATER = "heater"
    THERMOSTAT_FRIDGE = "thermostat-fridge"
    WATER_BATH = "water-bath"
    WET_CLOTH = "wet-cloth"
    FAN = "fan"
    INSULATION = "insulation"


class ReadBy(StrEnum):
    """The ways to measure gravity directly."""

    HYDROMETER = "hydrometer"
    REFRACTOMETER = "refractometer"
    WEIGHT = "weight"
    LIMIT_JAR = "limit-jar"


READING_ERROR_PT = {
    ReadBy.HYDROMETER: 0.8,
    ReadBy.REFRACTOMETER: 2.5,
    ReadBy.WEIGHT: 0.5,
    ReadBy.LIMIT_JAR: 0.8,
}
"""Standard errors in points of 0.001; a refractometer in spirit follows a convention, not a law."""


@dataclass(frozen=True, slots=True)
class Trace:
    """Minute means of one probe, calibrated: minutes since `start` (any order, gaps allowed) and degrees."""

    start: datetime
    minutes: tuple[float, ...]
    temp_c: tuple[float, ...]

    def __post_init__(self) -> None:
        if self.start.tzinfo is None:
            raise ValueError("a trace starts at an aware time")
        if len(self.minutes) != len(self.temp_c):
            raise ValueError("a trace has as many minutes as temperatures")


@dataclass(frozen=True, slots=True)
class GravityReading:
    """A direct reading, corrected for temperature. By weight, og - sg is the drop measured by the scales."""

    at: datetime
    sg: float
    by: ReadBy = ReadBy.HYDROMETER
    error_pt: float | None = None


@dataclass(frozen=True, slots=True)
class Sighting:
    """Something seen: `foam-up`, `foam-fallen`, `airlock-busy`, `airlock-still`, `clear`, `skin`."""

    at: datetime
    what: str


@dataclass(frozen=True, slots=True)
class Addition:
    """Sugar, fruit or water added. points: rise of the original gravity, in 0.001, that will ferment."""

    at: datetime
    points: float


@dataclass(frozen=True, slots=True)
class Switch:
    """A heater's or cooler's state from a time on."""

    at: datetime
    on: bool


@dataclass(frozen=True, slots=True)
class Span:
    """A told period of forced cooling (a cold crash); `until` is None while it lasts."""

    since: datetime
    until: datetime | None = None


@dataclass(frozen=True, slots=True)
class YeastRange:
    """The yeast's own range of apparent attenuation, as shares of one."""

    attenuation_low: float
    attenuation_high: float


@dataclass(frozen=True, slots=True)
class VesselPrior:
    """What earlier batches taught of this vessel: its time constant and the spread of its logarithm."""

    tau_h: float
    spread_ln: float
    batches: int = 1


@dataclass(frozen=True, slots=True)
class EstimateInput:
    """Everything known at `at`. Missing pieces make the answer wider or `unknown`, never an error.

    heater: the record of a switched heater; heater_w its power when known. cooled: told forced cooling.
    """

    at: datetime
    pitched_at: datetime | None = None
    og: float | None = None
    volume_l: float | None = None
    beer: Trace | None = None
    air: Trace | None = None
    mounting: Mounting | None = None
    wall: str | None = None
    near: tuple[Near, ...] = ()
    readings: tuple[GravityReading, ...] = ()
    sightings: tuple[Sighting, ...] = ()
    additions: tuple[Addition, ...] = ()
    moves: tuple[datetime, ...] = ()
    cooled: tuple[Span, ...] = ()
    heater: tuple[Switch, ...] = ()
    heater_w: float | None = None
    yeast: YeastRange | None = None
    vessel: VesselPrior | None = None
    og_error_pt: float = field(default=1.0)
