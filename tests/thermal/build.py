"""Batches made by hand for the thermal tests: one node, exact physics, no makers of the benchmarks."""

import math
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from random import Random

from service.thermal import beer
from service.thermal.inputs import EstimateInput, Mounting, Trace

PITCHED = datetime(2026, 2, 3, 9, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Made:
    """Minutes of beer and air, the gravity of every hour, and when a pad was switched (hours)."""

    beer_c: tuple[float, ...]
    air_c: tuple[float, ...]
    sg: tuple[float, ...]
    og: float
    volume_l: float
    switched: tuple[tuple[float, bool], ...] = ()


def logistic(hour: float, middle: float = 40.0, speed: float = 0.1) -> float:
    """Share fermented, from nothing at pitching to one."""
    first = 1 / (1 + math.exp(speed * middle))
    return (1 / (1 + math.exp(-speed * (hour - middle))) - first) / (1 - first)


def batch(
    hours: int = 168,
    og: float = 1.048,
    attenuation: float = 0.76,
    volume_l: float = 10.0,
    works: bool = True,
    stops_at: float = 1.0,
    tau_h: float | None = None,
    room_c: float = 19.0,
    swing_c: float = 0.6,
    pad_c_per_h: float = 0.0,
    seed: int = 1,
) -> Made:
    """One node, one room with a daily swing, minute by minute, with a little noise and 1/16 degree steps."""
    rng = Random(seed)
    tau = tau_h or beer.usual_time_constant_h(volume_l)
    fg = 1 + (og - 1) * (1 - attenuation)
    extract = beer.fermented_extract(og, fg)
    rise = beer.adiabatic_rise_k(og, fg)
    temp, done, on = room_c + 0.5, 0.0, False
    beers, airs, gravities, switched = [], [], [], []
    for minute in range(hours * 60):
        hour = minute / 60
        air = room_c + swing_c * math.cos(2 * math.pi * (hour - 8) / 24)
        share = min(logistic(hour), stops_at) if works else 0.0
        if minute % 60 == 0:
            gravities.append(beer.gravity_after(og, extract * share))
        was, on = on, temp < room_c + 1.5 - (0.0 if on else 0.35)
        if on is not was:
            switched.append((hour, on))
        temp += (share - done) * rise - (temp - air) / tau / 60 + (pad_c_per_h / 60 if on else 0.0)
        done = share
        six = [round((temp + rng.gauss(0, 0.03)) * 16) / 16 for _ in range(6)]
        beers.append(sum(six) / 6)
        airs.append(sum(round((air + rng.gauss(0, 0.03)) * 16) / 16 for _ in range(6)) / 6)
    return Made(tuple(beers), tuple(airs), tuple(gravities), og, volume_l, tuple(switched))


def known(made: Made, hour: int, **more: object) -> EstimateInput:
    """What is known of it at an hour; `more` replaces or adds members."""
    n = hour * 60
    members: dict[str, object] = {
        "at": PITCHED + timedelta(hours=hour),
        "pitched_at": PITCHED,
        "og": made.og,
        "volume_l": made.volume_l,
        "beer": Trace(PITCHED, tuple(range(n)), made.beer_c[:n]),
        "air": Trace(PITCHED, tuple(range(n)), made.air_c[:n]),
        "mounting": Mounting.THERMOWELL,
        "wall": "plastic",
        **more,
    }
    return EstimateInput(**members)  # type: ignore[arg-type]
