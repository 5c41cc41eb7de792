"""Maker B: Gee and Ramirez growth kinetics, layered beer in a walled vessel, rooms of masonry and weather."""

import math

import numpy as np

from benchmarks.twins.batch import MOUNTINGS, Scenario, Twin, probe
from benchmarks.twins.rooms_b import ROOMS, STEP_H, room

GAS = 1.987e-3
RATES = {
    "vg": (35.77, 22.6), "vm": (16.4, 11.3), "vn": (10.59, 7.16), "kg": (-121.3, -68.6),
    "km": (-19.15, -14.4), "kn": (-26.78, -19.9), "ig": (23.33, 10.2), "im": (55.61, 26.3),
}  # fmt: skip
MOLAR_KG = (0.18016, 0.34230, 0.50444)
MOLAR_KJ = (100.6, 205.0, 303.0)
"""From enthalpies of formation: 558 kJ per kg of glucose, 599 per kg of maltose, as much of maltotriose."""


def kinetics(
    sugars: tuple[float, float, float], yeast: float, born: float, temp_c: float
) -> tuple[float, ...]:
    """Uptake of glucose, maltose and maltotriose in mol/m3 h, and growth, by Gee and Ramirez."""
    kelvin = temp_c + 273.15
    k = {name: math.exp(a - b / (GAS * kelvin)) for name, (a, b) in RATES.items()}
    g, m, n = sugars
    hold_g = k["ig"] / (k["ig"] + g)
    one = k["vg"] * g / (k["kg"] + g)
    two = k["vm"] * m / (k["km"] + m) * hold_g
    three = k["vn"] * n / (k["kn"] + n) * hold_g * k["im"] / (k["im"] + m)
    crowd = 3.65e5 / (3.65e5 + (yeast - born) ** 2)
    return (
        one * yeast,
        two * yeast,
        three * yeast,
        (0.134 * one + 0.268 * two + 0.402 * three) * yeast * crowd,
    )


def _sugar_sg(percent: float) -> float:
    return 1 + percent / (258.6 - 227.1 * percent / 258.2)


def _spirit_sg(percent: float) -> float:
    return 1 - 0.001905 * percent + 2.7e-5 * percent**2


def _beer_sg(real_percent: float, alcohol_percent: float) -> float:
    """Tabarie's rule: the parts of extract and spirit add."""
    return _sugar_sg(real_percent) + _spirit_sg(alcohol_percent) - 1


def make(seed: int, scenario: Scenario | None = None, length_h: float = 264.0) -> Twin:
    """One batch. The same seed and scenario give the same batch."""
    asked = scenario or Scenario()
    what = asked.name
    rng = np.random.default_rng([seed, 2])
    volume = asked.volume_l or math.exp(rng.uniform(math.log(4.5), math.log(25)))
    mounting = asked.mounting or MOUNTINGS[int(rng.integers(3))]
    kind = asked.room or ROOMS[int(rng.choice(5, p=(0.3, 0.25, 0.2, 0.13, 0.12)))]
    plato = rng.uniform(9.0, 16.0)
    og = _sugar_sg(plato)
    mass_kg = volume * og
    fermentable = plato / 100 * float(np.clip(rng.normal(0.63, 0.04), 0.51, 0.74))
    split = rng.dirichlet((9, 42, 11))
    capable = rng.uniform(0.35, 0.7) if what == "stopped" else 1.0
    per_m3 = og * 1000 * fermentable
    sugars = [float(per_m3 * share / molar) for share, molar in zip(split, MOLAR_KG, strict=True)]
    start_sugar = sum(s * m for s, m in zip(sugars, MOLAR_KG, strict=True))
    vigour = math.exp(rng.normal(0.2, 0.2))
    lag_h = rng.uniform(5, 18)
    yeast = born = rng.uniform(90, 190)
    pitch_c, shift = rng.normal(19.5, 1.3), 0.0
    if what == "lager":
        vigour, kind, pitch_c, shift, yeast = vigour * 2.6, "basement", rng.normal(10, 1), -4.5, 200.0
        born = yeast
    if what == "cold-slow":
        vigour, kind, pitch_c, shift = vigour * 0.9, "garage", rng.normal(15, 1), -1.5
    if kind == "loft":
        pitch_c += 1.0
    n = int((length_h + 1) / STEP_H)
    air, masonry = room(rng, kind, n, rng.uniform(11, 21), shift)
    moved = rng.uniform(50, 120) if what == "moved" else None
    if moved is not None:
        first = int(moved / STEP_H)
        other_air, other_mass = room(rng, "basement", n, 12.0, rng.choice([2.0, 5.5]))
        air[first:], masonry[first:] = other_air[first:], other_mass[first:]
    cooled = rng.uniform(60, 150) if what == "cooled" else None

    area = 0.164 * (volume / 5) ** (2 / 3)
    side = area * rng.uniform(0.75, 0.9)
    steel = rng.random() < 0.3
    radiant = rng.uniform(0.8, 1.5) if steel else rng.uniform(4.2, 5.4)
    breeze = rng.uniform(0.8, 1.3)
    lagging = 0.28 if what == "box" else 1.0
    base = (area - side) * rng.uniform(2.0, 6.0)
    heat_core, heat_skin = 0.8 * mass_kg * 3.95 / 3.6, 0.2 * mass_kg * 3.95 / 3.6
    heat_wall = rng.uniform(0.03, 0.07) * mass_kg * 2.0 / 3.6 + 0.1
    shelf_heat = rng.uniform(3, 15)
    energy = rng.normal(1.0, 0.035)
    shelf = air[0]
    core = skin = wall = pitch_c
    pad_w, pad_want, on = rng.uniform(15, 30), pitch_c + rng.uniform(0.5, 2.0), False
    changes: list[tuple[float, bool]] = []
    if what == "pad":
        air, masonry = air - 3.5, masonry - 3.5
    gone, alcohol, heat_out = 0.0, 0.0, 0.0
    core_out, truth = np.empty(n), np.empty((n + 4) // 5)
    for k in range(n):
        hour = k * STEP_H
        core_out[k] = core
        if k % 5 == 0:
            left = 1 - 0.46286 * gone
            truth[k // 5] = _beer_sg(100 * (plato / 100 - gone) / left, 100 * alcohol / left)
        if k % 2 == 0:
            awake = 1 - math.exp(-((hour / lag_h) ** 2.5)) if what != "never-pitched" else 0.0
            fading = 1.0
            if capable < 1.0:
                fading = min(1.0, max(0.0, (capable - gone / fermentable) / 0.05))
            warm = min(1.0, max(0.0, (core - 2.0) / 4.0))
            takes = kinetics((sugars[0], sugars[1], sugars[2]), yeast, born, core)
            pace = vigour * awake * fading * warm
            watts, used = 0.0, 0.0
            for i in range(3):
                step = min(takes[i] * pace * 2 * STEP_H, sugars[i] * 0.5)
                sugars[i] -= step
                used += step * MOLAR_KG[i]
                watts += step * MOLAR_KJ[i]
            yeast += takes[3] * pace * 2 * STEP_H
            scale = fermentable / start_sugar
            gone += used * scale
            alcohol += used * scale / 2.0665
            # Gas leaves saturated with water: about one kJ per mol of gas, a fiftieth of the heat.
            heat_out = energy * 0.98 * watts * scale * mass_kg / (2 * STEP_H * 3.6)
        near = 0.93 * air[k] + 0.07 * core
        gap = wall - near
        out_w = side * breeze * 2.3 * abs(gap) ** 1.25 * math.copysign(1.0, gap)
        out_w += side * radiant * (wall - 0.5 * (masonry[k] + air[k]))
        out_w *= lagging
        if cooled is not None and cooled < hour < cooled + 60:
            out_w = side * 8.0 * (wall - 4.0)
        stir = 60.0 + 150.0 * min(1.0, heat_out / volume * 4)
        across = side * stir * (core - skin)
        film = side * 45.0 * (skin - wall)
        bottom = base * lagging * (core - shelf)
        pad = 0.0
        if what == "pad":
            want_on = core < pad_want - (0.0 if on else 0.35)
            if want_on != on:
                on = want_on
                changes.append((hour, on))
            pad = pad_w if on else 0.0
        core += STEP_H * (0.8 * heat_out - across - bottom) / heat_core
        skin += STEP_H * (0.2 * heat_out + across - film + pad) / heat_skin
        wall += STEP_H * (film - out_w) / (heat_wall + 0.2 * heat_skin)
        shelf += STEP_H * (bottom + 2.0 * (0.5 * (masonry[k] + air[k]) - shelf)) / shelf_heat
    hours = np.arange(n) * STEP_H
    minutes = np.arange(0, int(length_h * 60)) / 60.0
    true_beer = np.interp(minutes, hours, core_out)
    seen_beer, seen_air = probe(rng, true_beer, np.interp(minutes, hours, air), mounting, 7.0)
    full = fermentable * capable
    left = 1 - 0.46286 * full
    final_sg = _beer_sg(100 * (plato / 100 - full) / left, 100 * full / 2.0665 / left)
    if what == "never-pitched":
        final_sg = og
    truth_hours = np.arange(len(truth)) * 5 * STEP_H
    return Twin(
        "B", seed, what, kind, mounting, volume, og, minutes, seen_beer, seen_air, true_beer,
        truth_hours, truth, final_sg, energy * 0.98, "steel" if steel else "plastic", moved, cooled,
        tuple(changes),
    )  # fmt: skip
