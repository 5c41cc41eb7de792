"""What an estimate says. Intervals hold with 90 %."""

from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum


class Verdict(StrEnum):
    """One word for the state of a fermentation."""

    WAITING = "waiting"
    WORKING = "working"
    SLOWING = "slowing"
    ENDED = "ended"
    FINISHED = "finished"
    POSSIBLY_STOPPED = "possibly-stopped"
    STOPPED_EARLY = "stopped-early"
    NOT_STARTED = "not-started"
    DISTURBED = "disturbed"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Ranged:
    """A value with the ends of its 90 % interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class RangedTime:
    """A time with the ends of its 90 % interval; None where it lies beyond the horizon."""

    at: datetime | None
    low: datetime | None
    high: datetime | None


@dataclass(frozen=True, slots=True)
class Weights:
    """How likely each story is, adding up to one."""

    normal: float
    stopped_early: float
    not_started: float


@dataclass(frozen=True, slots=True)
class FitFacts:
    """How the fit went: its scatter, the vessel's time constant, what entered."""

    residual_c: float
    tau_h: Ranged
    minutes_used: int
    readings_used: int


@dataclass(frozen=True, slots=True)
class ThermalFacts:
    """Plain numbers a forecast starts from.

    excess_c: how far the vessel's surroundings lie from the air probe (probes' errors included).
    share_seen: share of the air in the liquid probe's value. heat_w: median heat at 0, 1, 2 ... hours from
    `at`; heat_spread: its standard deviation as a share of the first values. peak_w: strongest heat so far.
    heat_sd_w: standard deviation of heat_w, hour by hour.
    progress: hours from pitching and share fermented, hourly, for what depends on when the beer worked.
    """

    tau_h: float
    tau_spread_ln: float
    excess_c: float
    excess_spread_c: float
    share_seen: float
    heat_w: tuple[float, ...]
    heat_spread: float
    peak_w: float
    progress: tuple[float, ...] = ()
    heat_sd_w: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Estimate:
    """The answer. What is not known is None; `evidence` says in sentences why the verdict stands."""

    at: datetime
    verdict: Verdict
    gravity: Ranged | None = None
    share: Ranged | None = None
    rate_pt_per_day: Ranged | None = None
    finish: RangedTime | None = None
    heat_w: Ranged | None = None
    weights: Weights | None = None
    evidence: tuple[str, ...] = field(default=())
    fit: FitFacts | None = None
    thermal: ThermalFacts | None = None
    asks: tuple[str, ...] = field(default=())
