"""Maker A: Richards kinetics in temperature-warped time, one beer node, harmonic rooms."""

import math

import numpy as np

from benchmarks.twins.batch import MOUNTINGS, Floats, Scenario, Twin, probe

STEP_H = 0.1
ROOMS = ("kitchen", "cupboard", "cellar", "hall")


def _plato(sg: float) -> float:
    return -616.868 + 1111.14 * sg - 630.272 * sg**2 + 135.997 * sg**3


def _sg(plato: float) -> float:
    low, high = 0.98, 1.14
    for _ in range(50):
        middle = (low + high) / 2
        if _plato(middle) < plato:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def _slow_noise(rng: np.random.Generator, n: int, sd: float, memory_h: float) -> Floats:
    keep = math.exp(-STEP_H / memory_h)
    out = np.empty(n)
    x = rng.normal(0, sd)
    kicks = rng.normal(0, sd * math.sqrt(1 - keep**2), n)
    for k in range(n):
        x = keep * x + kicks[k]
        out[k] = x
    return out


def _room(rng: np.random.Generator, kind: str, hours: Floats, starts: float) -> Floats:
    clock = (hours + starts) % 24
    swing = {"kitchen": 1.2, "cupboard": 0.5, "cellar": 0.15, "hall": 0.5}[kind] * rng.uniform(0.6, 1.5)
    mean = {"kitchen": 19.5, "cupboard": 18.5, "cellar": 15.5, "hall": 18.0}[kind] + rng.normal(0, 1.0)
    wander = {"kitchen": 0.5, "cupboard": 0.4, "cellar": 0.3, "hall": 0.4}[kind]
    warm = rng.uniform(14, 19)
    air = mean + swing * np.cos(2 * np.pi * (clock - warm) / 24)
    air += 0.35 * swing * np.cos(4 * np.pi * (clock - rng.uniform(0, 12)) / 24)
    air += _slow_noise(rng, len(hours), wander, 40.0) + _slow_noise(rng, len(hours), 0.12, 1.5)
    if kind == "kitchen":
        for day in range(int(hours[-1] / 24) + 1):
            if rng.random() < 0.7:
                at = day * 24 + rng.normal(18.5, 0.7) - starts
                air += rng.uniform(0.5, 2.0) * np.where(hours > at, np.exp(-(hours - at) / 1.5), 0.0)
    if kind == "hall":
        wanted = np.where((clock > 6.5) & (clock < 22.5), rng.uniform(1.0, 2.0), 0.0)
        slow = np.empty_like(air)
        x = wanted[0]
        for k, value in enumerate(wanted):
            x += STEP_H / 2.5 * (value - x)
            slow[k] = x
        air += slow
    return air


def _lowpass(series: Floats, hours: float) -> Floats:
    out = np.empty_like(series)
    x = series[: int(24 / STEP_H)].mean()
    for k, value in enumerate(series):
        x += STEP_H / hours * (value - x)
        out[k] = x
    return out


def make(seed: int, scenario: Scenario | None = None, length_h: float = 264.0) -> Twin:
    """One batch. The same seed and scenario give the same batch."""
    asked = scenario or Scenario()
    what = asked.name
    rng = np.random.default_rng([seed, 1])
    volume = asked.volume_l or math.exp(rng.uniform(math.log(4.5), math.log(25)))
    mounting = asked.mounting or MOUNTINGS[int(rng.integers(3))]
    room = asked.room or ROOMS[int(rng.integers(4))]
    og = rng.uniform(1.036, 1.066)
    attenuation = float(np.clip(rng.normal(0.755, 0.05), 0.63, 0.88))
    fg = 1 + (og - 1) * (1 - attenuation)
    original = _plato(og)
    real = 0.1808 * original + 0.8192 * _plato(fg)
    fermented = (original - real) / 100 / (1 - 0.46286 * real / 100)
    heat_share = rng.normal(0.97, 0.035)
    rise = 586 * heat_share * fermented / (3.95 * 1.04)

    middle = math.exp(rng.normal(math.log(38), 0.3))
    speed = math.exp(rng.normal(math.log(0.095), 0.3))
    bow = math.exp(rng.normal(math.log(0.6), 0.5))
    tail, tail_h = rng.uniform(0.0, 0.14), rng.uniform(25, 60)
    q10 = rng.uniform(1.9, 2.6)
    pitch_c = rng.normal(19.5, 1.2)
    if what == "lager":
        middle, speed, pitch_c, room = middle * 0.75, speed * 1.3, rng.normal(10, 1), "cellar"
    if what == "cold-slow":
        middle, speed, pitch_c, room = middle * 1.5, speed * 0.6, rng.normal(15, 1), "cellar"
    n = int((length_h + 1) / STEP_H)
    hours = np.arange(n) * STEP_H
    air = _room(rng, room, hours, rng.uniform(11, 21))
    if what == "lager":
        air += 9.5 - air.mean()
    if what == "cold-slow":
        air += 12.5 - air.mean()
    moved = rng.uniform(50, 120) if what == "moved" else None
    tau = 7.5 * (volume / 5) ** (1 / 3) * math.exp(rng.normal(0, 0.22)) * (2.5 if what == "box" else 1.0)
    if moved is not None:
        air = np.where(hours > moved, air + rng.choice([-1, 1]) * rng.uniform(1.5, 3), air)
    walls, floor = rng.uniform(0.1, 0.45), rng.uniform(0.0, 0.22)
    around = air + walls * (_lowpass(air, rng.uniform(4, 10)) - air)
    around += floor * (_lowpass(air, 36.0) - rng.uniform(0, 2.0) - air)
    around += _slow_noise(rng, n, 0.06, 20.0)
    cooled = rng.uniform(60, 150) if what == "cooled" else None
    stop = rng.uniform(0.35, 0.7) if what == "stopped" else 1.0
    pad_w, pad_want = rng.uniform(15, 30), pitch_c + rng.uniform(0.5, 2.0)
    if what == "pad":
        air -= 3.0
        around -= 3.0
    capacity = volume * og * 3.95 * 1.04 / 3.6

    def curve(z: float) -> float:
        first = (1 + bow * math.exp(-speed * (z - middle))) ** (-1 / bow)
        zero = (1 + bow * math.exp(speed * middle)) ** (-1 / bow)
        late = 1 - math.exp(-(z - middle) / tail_h) if z > middle else 0.0
        return (1 - tail) * (first - zero) / (1 - zero) + tail * late

    beer = np.empty(n)
    share = np.empty(n)
    temp, z, done, factor, on = pitch_c, 0.0, 0.0, 1.0, False
    changes: list[tuple[float, bool]] = []
    for k in range(n):
        beer[k], share[k] = temp, done
        z += STEP_H * q10 ** ((temp - 20) / 10)
        now = 0.0 if what == "never-pitched" else max(done, min(curve(z), stop))
        heat = (now - done) * rise
        done = now
        if moved is not None and hours[k] > moved and factor == 1.0:
            factor = math.exp(rng.normal(0, 0.2))
        loss = (temp - around[k]) / tau * factor
        if cooled is not None and cooled < hours[k] < cooled + 60:
            loss = (temp - 4.0) / (tau * 0.7)
        if what == "pad":
            want_on = temp < pad_want - (0.0 if on else 0.35)
            if want_on != on:
                on = want_on
                changes.append((float(hours[k]), on))
            heat += STEP_H * pad_w / capacity if on else 0.0
        temp += heat - STEP_H * loss
    gravity = np.empty(n)
    for k in range(n):
        e = fermented * share[k]
        real_now = 100 * (original / 100 - e) / (1 - 0.46286 * e)
        gravity[k] = _sg((real_now - 0.1808 * original) / 0.8192)
    minutes = np.arange(0, int(length_h * 60)) / 60.0
    true_beer = np.interp(minutes, hours, beer)
    seen_beer, seen_air = probe(rng, true_beer, np.interp(minutes, hours, air), mounting, 4.0)
    keep = slice(None, None, 2)
    return Twin(
        "A", seed, what, room, mounting, volume, og, minutes, seen_beer, seen_air, true_beer,
        hours[keep], gravity[keep], float(gravity[-1]) if stop < 1 or what == "never-pitched" else fg,
        heat_share, "plastic", moved, cooled, tuple(changes),
    )  # fmt: skip
