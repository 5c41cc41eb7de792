"""The beer of the next hours, with an interval: plain numbers, plain Python, no arrays.

One node: dT/dt = heat/C - (T - air - excess)/tau. What the last hours did beside the model is carried on and
fades, so that the forecast works before pitching and with a poorly known vessel too.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from service.thermal import beer
from service.thermal.habit import Habit, learned
from service.thermal.inputs import VesselPrior
from service.thermal.results import ThermalFacts

STEP_H = 0.25
UNEXPLAINED_FADE_H = 16.0
NINETY = 1.645
LOOK_BACK_H = 6


@dataclass(frozen=True, slots=True)
class Coefficients:
    """What a forecast needs of the vessel.

    heat_kh: kelvin per hour of self-heating, hourly from now on.
    heat_sd_kh: its standard deviation hour by hour; heat_spread: the same as a share, where there is no more.
    """

    tau_h: float
    tau_spread_ln: float
    excess_c: float
    excess_spread_c: float
    heat_kh: tuple[float, ...]
    heat_spread: float
    share_seen: float = 0.02
    heat_sd_kh: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Point:
    """Forecast beer at a time, with the ends of its 90 % interval."""

    at: datetime
    temp_c: float
    low90_c: float
    high90_c: float


@dataclass(frozen=True, slots=True)
class Band:
    """A stage's band from a time on; open ends are None."""

    since: datetime
    low_c: float | None
    high_c: float | None


def coefficients(
    volume_l: float, og: float | None, facts: ThermalFacts | None, vessel: VesselPrior | None
) -> Coefficients:
    """From an estimate when there is one, else from the vessel's history, else from its volume."""
    if facts is not None:
        capacity = beer.heat_capacity_wh_per_k(volume_l, og or 1.045)
        return Coefficients(
            facts.tau_h,
            facts.tau_spread_ln,
            facts.excess_c,
            facts.excess_spread_c,
            tuple(w / capacity for w in facts.heat_w),
            facts.heat_spread,
            facts.share_seen,
            tuple(w / capacity for w in facts.heat_sd_w),
        )
    if vessel is not None:
        return Coefficients(vessel.tau_h, math.hypot(vessel.spread_ln, 0.1), 0.0, 0.4, (), 0.0)
    return Coefficients(beer.usual_time_constant_h(volume_l), 0.35, 0.0, 0.4, (), 0.0)


def _heat(c: Coefficients, hour: float) -> float:
    if not c.heat_kh:
        return 0.0
    place = min(hour, len(c.heat_kh) - 1.0)
    low = int(place)
    high = min(low + 1, len(c.heat_kh) - 1)
    return c.heat_kh[low] + (place - low) * (c.heat_kh[high] - c.heat_kh[low])


def unexplained_kh(
    c: Coefficients, beer_hourly_c: Sequence[float | None], air_hourly_c: Sequence[float | None]
) -> float:
    """Kelvin per hour by which the last hours differed from the model; zero with too little to go by."""
    beers, airs = list(beer_hourly_c)[-LOOK_BACK_H:], list(air_hourly_c)[-LOOK_BACK_H:]
    pairs = [(b, a) for b, a in zip(beers, airs, strict=False) if b is not None and a is not None]
    if len(pairs) < 4 or len(beers) != len(airs):
        return 0.0
    first, last = pairs[0][0], pairs[-1][0]
    hours = len(pairs) - 1
    slope = (last - first) / hours
    seen = c.share_seen * (pairs[-1][1] - pairs[0][1]) / hours
    loss = sum((b - a - c.excess_c) / c.tau_h for b, a in pairs) / len(pairs)
    return slope - seen + loss - _heat(c, 0.0)


def run(
    c: Coefficients,
    start_c: float,
    air_at: Sequence[float],
    extra_kh: float,
    fade_h: float = UNEXPLAINED_FADE_H,
) -> list[float]:
    """Beer at every step of a quarter of an hour, for the air at the same steps."""
    temp, out = start_c, [start_c]
    keep = math.exp(-STEP_H / c.tau_h)
    for k in range(len(air_at) - 1):
        hour = k * STEP_H
        drive = _heat(c, hour) + extra_kh * math.exp(-hour / fade_h)
        goal = air_at[k] + c.excess_c + drive * c.tau_h
        temp = goal + (temp - goal) * keep
        out.append(temp)
    return out


def _shifted(c: Coefficients, **changes: float) -> Coefficients:
    more = changes.get("heat", 0.0)
    spread = c.heat_sd_kh or tuple(min(1.0, c.heat_spread) * h for h in c.heat_kh)
    heats = zip(c.heat_kh, spread, strict=False)
    return Coefficients(
        c.tau_h * math.exp(changes.get("tau", 0.0)),
        c.tau_spread_ln,
        c.excess_c + changes.get("excess", 0.0),
        c.excess_spread_c,
        tuple(max(0.0, h + more * sd) for h, sd in heats),
        c.heat_spread,
        c.share_seen,
        c.heat_sd_kh,
    )


def forecast(
    at: datetime,
    clock_h: float,
    beer_hourly_c: Sequence[float | None],
    air_hourly_c: Sequence[float | None],
    c: Coefficients,
    hours: int = 48,
    habit: Habit | None = None,
) -> list[Point]:
    """Quarter-hourly points from `at` on; empty without a beer temperature. clock_h: local hour at `at`.

    The hourly means are oldest first and end at `at`; without any air the beer is taken to stay, ever less
    surely.
    """
    now = next((b for b in reversed(list(beer_hourly_c)) if b is not None), None)
    if now is None:
        return []
    ways = [k * STEP_H for k in range(int(hours / STEP_H) + 1)]
    room = habit or learned(air_hourly_c, int(clock_h - 1) % 24)
    if room is None:
        flat = [(0.3 + 1.5 * math.sqrt(h / 24)) * NINETY for h in ways]
        return [
            Point(at + timedelta(hours=h), now, now - w, now + w) for h, w in zip(ways, flat, strict=True)
        ]
    # The last hourly mean is half an hour old.
    recent = [b for b in list(beer_hourly_c)[-3:] if b is not None]
    start = now + 0.5 * (recent[-1] - recent[0]) / max(1, len(recent) - 1) if len(recent) > 1 else now
    air = [room.at(h, clock_h + h) for h in ways]
    extra = unexplained_kh(c, beer_hourly_c, air_hourly_c)
    middle = run(c, start, air, extra)
    spread = [(h, 0.06) for h in ways]
    variance = [sd**2 for _, sd in spread]
    for changed in (
        run(_shifted(c, tau=c.tau_spread_ln), start, air, unexplained_kh(
            _shifted(c, tau=c.tau_spread_ln), beer_hourly_c, air_hourly_c)),
        run(_shifted(c, heat=1.0), start, air, unexplained_kh(
            _shifted(c, heat=1.0), beer_hourly_c, air_hourly_c)),
        run(c, start, air, extra, fade_h=3 * UNEXPLAINED_FADE_H),
        run(c, start, air, extra + 0.02),
    ):  # fmt: skip
        variance = [v + (x - m) ** 2 for v, x, m in zip(variance, changed, middle, strict=True)]
    # The air's own error reaches the beer through the vessel, slowly.
    followed = 0.0
    for k, h in enumerate(ways):
        followed += STEP_H / c.tau_h * (room.sd(h) - followed)
        variance[k] += followed**2
    return [
        Point(at + timedelta(hours=h), m, m - NINETY * math.sqrt(v), m + NINETY * math.sqrt(v))
        for h, m, v in zip(ways, middle, variance, strict=True)
    ]


def leaves_band_at(points: Sequence[Point], bands: Sequence[Band]) -> tuple[datetime, str] | None:
    """First time the expected beer is outside its band though it was inside, and the side; else None."""
    ordered = sorted(bands, key=lambda b: b.since)
    inside = False
    for point in points:
        band = next((b for b in reversed(ordered) if b.since <= point.at), None)
        if band is None:
            continue
        side = None
        if band.high_c is not None and point.temp_c > band.high_c:
            side = "warm"
        elif band.low_c is not None and point.temp_c < band.low_c:
            side = "cold"
        if side is None:
            inside = True
        elif inside or point is points[0]:
            return point.at, side
    return None
