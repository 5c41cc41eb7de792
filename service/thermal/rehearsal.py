"""A plan run against a vessel in a room before brewing: where it would stray, what would help. Plain Python.

Heat follows a logistic in temperature-warped time, as in ASBC Yeast-14, with usual figures; the 90 % interval
covers slower and faster yeasts, the room's and the vessel's uncertainty. Thirty days take some tens of
milliseconds.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from service.thermal import beer
from service.thermal.forecast import NINETY
from service.thermal.inputs import VesselPrior
from service.thermal.remedies import ICE_KJ_PER_KG, MOST_SHOCK_C_PER_DAY, Advice

STEP_H = 0.5
USUAL_MIDDLE_Z, USUAL_SPEED = 36.0, 0.085
"""Hours at 20 C to half way, and steepness per hour: common practice, one to two weeks for an ale."""

ROOM_SD_C = 0.8
LEAST_STRAY_H = 2.0


@dataclass(frozen=True, slots=True)
class PlannedStage:
    """A stage as rehearsed, in hours from the start. target_c: at its begin and end; a ramp takes over_h.

    low_c, high_c: band around the target when `relative`, else absolute. fermenting: yeast is in.
    """

    key: str
    from_h: float
    to_h: float
    target_c: tuple[float, float] | None
    over_h: float = 0.0
    low_c: float | None = None
    high_c: float | None = None
    relative: bool = False
    fermenting: bool = True

    def target_at(self, hour: float) -> float | None:
        """The target at an hour of the rehearsal."""
        if self.target_c is None:
            return None
        first, last = self.target_c
        if self.over_h <= 0:
            return last
        return first + (last - first) * min(1.0, max(0.0, hour - self.from_h) / self.over_h)

    def band_at(self, hour: float) -> tuple[float | None, float | None]:
        """Low and high end at an hour."""
        target = self.target_at(hour)
        base = (target or 0.0) if self.relative else 0.0
        low = None if self.low_c is None or (self.relative and target is None) else base + self.low_c
        high = None if self.high_c is None or (self.relative and target is None) else base + self.high_c
        return low, high


@dataclass(frozen=True, slots=True)
class Room:
    """The place: a mean with a daily swing (half of top to bottom), or an hourly trace from the start on.

    warmest_clock_h: local hour of the daily maximum.
    """

    mean_c: float
    swing_c: float = 0.0
    warmest_clock_h: float = 16.0
    trace_c: tuple[float, ...] = ()

    def at(self, hour: float, clock_h: float) -> float:
        """Air at an hour of the rehearsal; beyond a trace its last day repeats."""
        if self.trace_c:
            place = hour if hour < len(self.trace_c) - 1 else len(self.trace_c) - 25 + hour % 24
            low = max(0, min(len(self.trace_c) - 1, int(place)))
            high = min(len(self.trace_c) - 1, low + 1)
            return self.trace_c[low] + (place - int(place)) * (self.trace_c[high] - self.trace_c[low])
        return self.mean_c + self.swing_c * math.cos(2 * math.pi * (clock_h - self.warmest_clock_h) / 24)


@dataclass(frozen=True, slots=True)
class RehearsalPoint:
    """One half hour of the rehearsal."""

    at: datetime
    temp_c: float
    low90_c: float
    high90_c: float
    target_c: float | None
    low_c: float | None
    high_c: float | None
    stage: str


@dataclass(frozen=True, slots=True)
class RehearsedStray:
    """A time outside the band. side: `warm` or `cold`."""

    since: datetime
    to: datetime
    side: str
    worst_c: float
    stage: str


@dataclass(frozen=True, slots=True)
class Rehearsal:
    """The course, its strays, what cannot be reached and why, and what would help."""

    points: tuple[RehearsalPoint, ...]
    strays: tuple[RehearsedStray, ...]
    unreachable: tuple[tuple[str, str], ...]
    advice: tuple[Advice, ...]
    warmest_at: datetime | None


@dataclass(frozen=True, slots=True)
class Setting:
    """What is rehearsed: stages, vessel, wort, room, start. start_clock_h: local hour at `starts_at`."""

    stages: tuple[PlannedStage, ...]
    volume_l: float
    og: float
    pitch_c: float
    room: Room
    starts_at: datetime
    start_clock_h: float
    vessel: VesselPrior | None = None
    fg: float | None = None

    @property
    def tau(self) -> tuple[float, float]:
        """Time constant in hours and the spread of its logarithm."""
        if self.vessel is not None:
            return self.vessel.tau_h, self.vessel.spread_ln
        return beer.usual_time_constant_h(self.volume_l), 0.3


def _share(z: float, middle: float, speed: float) -> float:
    first = 1 / (1 + math.exp(speed * middle))
    return (1 / (1 + math.exp(-speed * (z - middle))) - first) / (1 - first)


def _course(
    s: Setting, pitch_c: float, shift_c: float, tau_h: float, pace: float, heat: float
) -> list[float]:
    """Beer every half hour. pace: speed of the yeast; heat: its heat, both relative to the usual."""
    end = max((stage.to_h for stage in s.stages), default=0.0)
    n = int(end / STEP_H) + 1
    rise = beer.adiabatic_rise_k(s.og, s.fg or 1 + 0.24 * (s.og - 1)) * heat
    keep = math.exp(-STEP_H / tau_h)
    begins = min((st.from_h for st in s.stages if st.fermenting), default=math.inf)
    temp, z, done, out = pitch_c, 0.0, 0.0, []
    for k in range(n):
        out.append(temp)
        hour = k * STEP_H
        drive = 0.0
        if hour >= begins:
            z += STEP_H * pace * beer.usual_pace(temp)
            share = _share(z, USUAL_MIDDLE_Z, USUAL_SPEED)
            drive, done = (share - done) * rise / STEP_H, share
        air = s.room.at(hour, s.start_clock_h + hour) + shift_c
        goal = air + drive * tau_h
        temp = goal + (temp - goal) * keep
    return out


def _stage_at(s: Setting, hour: float) -> PlannedStage | None:
    return next((st for st in s.stages if st.from_h <= hour < st.to_h), s.stages[-1] if s.stages else None)


def _strays(points: Sequence[RehearsalPoint]) -> list[RehearsedStray]:
    out: list[RehearsedStray] = []
    run: list[RehearsalPoint] = []
    side = ""
    for point in [*points, None]:
        now = ""
        if point is not None:
            if point.high_c is not None and point.temp_c > point.high_c:
                now = "warm"
            elif point.low_c is not None and point.temp_c < point.low_c:
                now = "cold"
        if run and (now != side or point is None or point.stage != run[0].stage):
            if (run[-1].at - run[0].at) >= timedelta(hours=LEAST_STRAY_H):
                worst = (max if side == "warm" else min)(p.temp_c for p in run)
                out.append(RehearsedStray(run[0].at, run[-1].at, side, worst, run[0].stage))
            run = []
        side = now
        if now and point is not None:
            run.append(point)
    return out


def rehearse(s: Setting) -> Rehearsal:
    """Run the plan. An empty plan gives an empty rehearsal."""
    if not s.stages:
        return Rehearsal((), (), (), (), None)
    tau, tau_ln = s.tau
    middle = _course(s, s.pitch_c, 0.0, tau, 1.0, 1.0)
    others = [
        _course(s, s.pitch_c, ROOM_SD_C, tau, 1.0, 1.0),
        _course(s, s.pitch_c, 0.0, tau * math.exp(tau_ln), 1.0, 1.0),
        _course(s, s.pitch_c, 0.0, tau, 1.35, 1.0),
        _course(s, s.pitch_c, 0.0, tau, 0.75, 1.0),
        _course(s, s.pitch_c, 0.0, tau, 1.0, 1.12),
    ]
    points = []
    for k, temp in enumerate(middle):
        hour = k * STEP_H
        stage = _stage_at(s, hour)
        assert stage is not None
        low, high = stage.band_at(hour)
        sd = math.sqrt(0.1**2 + sum((o[k] - temp) ** 2 for o in others))
        points.append(
            RehearsalPoint(
                s.starts_at + timedelta(hours=hour),
                temp,
                temp - NINETY * sd,
                temp + NINETY * sd,
                stage.target_at(hour),
                low,
                high,
                stage.key,
            )
        )
    strays = _strays(points)
    warmest = max(points, key=lambda p: p.temp_c)
    return Rehearsal(
        tuple(points),
        tuple(strays),
        tuple(_unreachable(s, points)),
        tuple(_advice(s, strays, points)),
        warmest.at,
    )


def _unreachable(s: Setting, points: Sequence[RehearsalPoint]) -> list[tuple[str, str]]:
    out = []
    for stage in s.stages:
        inside = [p for p in points if p.stage == stage.key]
        if not inside or all(p.low_c is None and p.high_c is None for p in inside):
            continue
        if all(p.high_c is not None and p.temp_c > p.high_c for p in inside):
            coolest = min(p.temp_c for p in inside)
            out.append(
                (stage.key, f"Nothing here cools the beer below {coolest:.1f} C: it needs a colder place.")
            )
        elif all(p.low_c is not None and p.temp_c < p.low_c for p in inside):
            warmest = max(p.temp_c for p in inside)
            out.append(
                (stage.key, f"Nothing here warms the beer above {warmest:.1f} C: it needs a warmer place.")
            )
    return out


def _excess(s: Setting, pitch_c: float, shift_c: float) -> float:
    """How far the course lies above the bands at its worst while fermenting; negative is room to spare."""
    worst = -math.inf
    for k, temp in enumerate(_course(s, pitch_c, shift_c, s.tau[0], 1.0, 1.0)):
        stage = _stage_at(s, k * STEP_H)
        if stage is None or not stage.fermenting:
            continue
        high = stage.band_at(k * STEP_H)[1]
        if high is not None:
            worst = max(worst, temp - high)
    return worst


def _solved(excess: Callable[[float], float], low: float, high: float) -> float | None:
    """The highest value between the ends whose excess is not positive; None when none is."""
    if excess(low) > 0:
        return None
    for _ in range(12):
        middle = (low + high) / 2
        if excess(middle) > 0:
            high = middle
        else:
            low = middle
    return low


def _advice(s: Setting, strays: Sequence[RehearsedStray], points: Sequence[RehearsalPoint]) -> list[Advice]:
    out: list[Advice] = []
    warm = [x for x in strays if x.side == "warm"]
    if warm:
        lowest = max(8.0, s.pitch_c - 6.0)
        first_low = next((p.low_c for p in points if p.low_c is not None), None)
        if first_low is not None:
            lowest = max(lowest, first_low)
        pitch = _solved(lambda c: _excess(s, c, 0.0), lowest, s.pitch_c) if lowest < s.pitch_c else None
        if pitch is not None:
            out.append(
                Advice("pitch_c", round(pitch, 1), f"Pitched at {pitch:.1f} C it would not stray warm.")
            )
        shift = _solved(lambda d: _excess(s, s.pitch_c, d), -12.0, 0.0)
        if shift is not None:
            place = (
                s.room.mean_c + shift
                if not s.room.trace_c
                else sum(s.room.trace_c) / len(s.room.trace_c) + shift
            )
            out.append(
                Advice(
                    "surroundings_c",
                    round(place, 1),
                    f"A place at {place:.1f} C on average would keep it in band.",
                )
            )
        over = max(_excess(s, s.pitch_c, 0.0), 0.0)
        capacity = beer.heat_capacity_wh_per_k(s.volume_l, s.og) * 3.6
        kg = over / s.tau[0] * 24 * capacity / ICE_KJ_PER_KG
        if over > 0 and over / s.tau[0] * 24 <= 4 * MOST_SHOCK_C_PER_DAY:
            out.append(
                Advice(
                    "ice_kg_per_day",
                    round(kg, 1),
                    f"About {kg:.1f} kg of ice a day round the vessel would hold it on the warmest days.",
                )
            )
    cold = [x for x in strays if x.side == "cold"]
    if cold:
        lack = max(
            (p.low_c - p.temp_c for p in points if p.low_c is not None and p.temp_c < p.low_c), default=0.0
        )
        out.append(
            Advice(
                "surroundings_c",
                round(lack, 1),
                f"It would need a place about {lack:.1f} C warmer on its cold days.",
            )
        )
    return out
