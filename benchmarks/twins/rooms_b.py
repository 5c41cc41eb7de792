"""Rooms of maker B: a building of air and masonry under weather, with a thermostat, sun and cooks."""

import math
from dataclasses import dataclass

import numpy as np

from benchmarks.twins.batch import Floats

STEP_H = 1.0 / 30.0
ROOMS = ("flat", "old-house", "basement", "loft", "garage")


@dataclass(frozen=True)
class Building:
    """Means and sizes: outside_c and its daily half swing, leak and store time constants in hours."""

    outside_c: float
    swing_k: float
    leak_h: float
    store_h: float
    mass_h: float
    heated_c: float | None
    night_k: float
    sun_k: float
    cook_k: float


BUILDINGS = {
    "flat": Building(6, 3, 16, 1.6, 60, 20.0, 0.0, 0.5, 1.0),
    "old-house": Building(4, 4, 9, 1.8, 45, 19.5, 3.0, 0.6, 0.6),
    "basement": Building(17, 3, 60, 2.0, 150, None, 0.0, 0.0, 0.1),
    "loft": Building(20, 6, 9, 2.0, 40, None, 0.0, 2.0, 0.0),
    "garage": Building(15, 4, 8, 2.5, 30, None, 0.0, 0.5, 0.0),
}


def room(
    rng: np.random.Generator, kind: str, n: int, start_clock_h: float, shift_c: float
) -> tuple[Floats, Floats]:
    """Air and masonry temperatures of n steps of two minutes; shift_c moves the whole."""
    b = BUILDINGS[kind]
    outside = b.outside_c + rng.normal(0, 1.5)
    front, front_to = 0.0, rng.normal(0, 2.0)
    heated = None if b.heated_c is None else b.heated_c + rng.normal(0, 0.8)
    air = masonry = (heated if heated is not None else outside) + rng.normal(0, 0.5)
    on, cloud = False, rng.random()
    cook_at = rng.normal(18, 1.0)
    out_air, out_mass = np.empty(n), np.empty(n)
    gusts = rng.normal(0, 0.035, n)
    for k in range(n):
        clock = (start_clock_h + k * STEP_H) % 24
        if k % 900 == 0:
            front_to, cloud, cook_at = rng.normal(0, 2.5), rng.random(), rng.normal(18, 1.2)
        front += STEP_H / 14 * (front_to - front)
        weather = outside + front + b.swing_k * (0.4 + 0.6 * cloud) * math.sin(2 * math.pi * (clock - 9) / 24)
        gain = 0.0
        if heated is not None:
            want = heated - (b.night_k if clock < 6 or clock > 23 else 0.0)
            if air > want + 0.25:
                on = False
            elif air < want - 0.25:
                on = True
            gain += 4.0 if on else 0.0
        if 11 < clock < 16:
            gain += b.sun_k * cloud * math.sin(math.pi * (clock - 11) / 5)
        if abs(clock - cook_at) < 0.5:
            gain += b.cook_k
        air += STEP_H * ((weather - air) / b.leak_h + (masonry - air) / b.store_h + gain) + gusts[k]
        masonry += STEP_H * (2.4 * (air - masonry) + 0.25 * (weather - masonry)) / b.mass_h
        out_air[k], out_mass[k] = air, masonry
    return out_air + shift_c, out_mass + shift_c
