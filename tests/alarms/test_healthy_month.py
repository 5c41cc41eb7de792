"""Thirty days of a healthy fermenter, with everything a probe does wrong: not one false alarm.

The temperatures are invented: a beer that heats itself, a room with day and night, and steps of 0.0625 C.
"""

import math
import random
from collections import deque
from collections.abc import Iterator
from datetime import datetime, timedelta

from service.alarms.lifecycle import step
from service.alarms.model import AlarmState, Finding, Subject, Transition
from service.alarms.rules import (
    Limits,
    Side,
    band_finding,
    fast_change,
    near_freezing,
    no_reading,
    not_reached,
    phase_priority,
    probe_fault,
    probe_frozen,
    slope_c_per_h,
)
from tests.alarms.making import T0, about

SWEEP_S = 120
DAYS = 30
BAND = Limits(18.0, 22.0, 20.0, deadband_c=0.3, after_s=600.0, clear_after_s=600.0)


def beer_c(hours: float) -> float:
    """A beer pitched at 18.5 C: it warms itself for some days, then follows the room's day and night."""
    room = 19.5 + 0.5 * math.sin(hours * math.pi / 12)
    return room - math.exp(-hours / 8.0) + 1.6 * math.exp(-((hours - 48.0) ** 2) / 1200.0)


def read(chance: random.Random, hours: float) -> float | None:
    """What screening lets through: one value in a hundred is lost, and a value wobbles by a step."""
    if chance.random() < 0.01:
        return None
    steps = round(beer_c(hours) / 0.0625) + chance.choice((-1, 0, 0, 0, 1))
    return steps * 0.0625


def month(
    seed: int, days: int = DAYS, cut: tuple[float, float] = (0.0, 0.0), warm_from_h: float = 1e9
) -> Iterator[Finding]:
    """Every finding of the month in order; `cut` is a dropout of the probe, in hours from the beginning."""
    chance = random.Random(seed)
    day: deque[tuple[datetime, float]] = deque(maxlen=145)
    looks: deque[bool] = deque(maxlen=3600 // SWEEP_S)
    silent_s = same_s = value = 0.0
    for second in range(0, days * 86_400, SWEEP_S):
        hours = second / 3600
        now = T0 + timedelta(seconds=second)
        told = about(now=now)
        temp_c = None if cut[0] <= hours < cut[1] else read(chance, hours)
        looks.append(temp_c is None)
        silent_s += SWEEP_S
        if temp_c is not None:
            temp_c += 3.0 if hours >= warm_from_h else 0.0
            same_s = same_s + SWEEP_S if temp_c == value else 0.0
            silent_s, value = 0.0, temp_c
        warm = phase_priority("primary", Side.WARM, None, hours)
        cold = phase_priority("primary", Side.COLD, None, hours)
        yield band_finding(told, Side.WARM, temp_c, BAND, warm)
        yield band_finding(told, Side.COLD, temp_c, BAND, cold)
        yield not_reached(told, temp_c, BAND, reached=True, entered_at=T0, reach_within_s=21_600.0)
        yield no_reading(told, silent_s, SWEEP_S, last_at=now, last_c=value)
        yield near_freezing(told, temp_c, None)
        if second % 600 == 0:
            day.append((now, value))
            fall = day[0][1] - value if len(day) == 145 else None
            slope = slope_c_per_h(list(day)[-7:])
            yield fast_change(told, slope, 4.0, fall, before_end=hours < 240, by_plan=False)
            yield probe_fault(told, len(looks), {"crc": sum(looks)})
            yield probe_frozen(told, same_s, value)


def live(findings: Iterator[Finding]) -> list[Transition]:
    states: dict[Subject, AlarmState] = {}
    history: list[Transition] = []
    now = T0
    for found in findings:
        if found.subject.key == "above-band":
            now += timedelta(seconds=SWEEP_S)
        before = states.get(found.subject, AlarmState(found.subject))
        states[found.subject], changes = step(before, found, now)
        history += changes
    return history


def test_thirty_healthy_days_raise_no_alarm() -> None:
    assert live(month(seed=7)) == []


def test_a_probe_that_drops_out_for_an_hour_raises_its_own_alarms_and_no_other() -> None:
    history = live(month(seed=8, days=6, cut=(100.0, 101.0)))

    assert [(t.subject.key, t.event) for t in history] == [
        ("no-reading", "raised"),
        ("probe-fault", "raised"),
        ("no-reading", "returned"),
        ("probe-fault", "returned"),
    ]


def test_the_same_month_raises_the_warmth_that_it_would_not_do_to_miss() -> None:
    history = live(month(seed=9, days=14, warm_from_h=300.0))

    first = next(t for t in history if t.subject.key == "above-band")
    assert first.event == "raised"
    assert timedelta(seconds=600) <= first.at - (T0 + timedelta(hours=300)) <= timedelta(hours=12)
