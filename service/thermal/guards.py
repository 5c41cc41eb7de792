"""Signs that something besides yeast and room moves the temperature. Worker process only."""

import math
from dataclasses import dataclass

import numpy as np

from service.thermal.arrays import Floats, running_mean
from service.thermal.bins import Bins

AIR_TOOTH = 0.35
"""A tooth must be clearly more than what the air's own step could still put into the probe."""


@dataclass(frozen=True, slots=True)
class Sign:
    """What was seen, in a sentence, and the hour (from pitching) at which it was first sure."""

    kind: str
    hour: float
    sentence: str


def clipped_share(beer_step: Floats, air_step: Floats) -> float:
    """Share of the air's steps in the beer's, by least squares with outliers clipped."""
    share = 0.0
    keep = np.ones(len(beer_step), dtype=bool)
    for _ in range(3):
        x, y = air_step[keep], beer_step[keep]
        share = float(x @ y / max(1e-9, float(x @ x)))
        left = beer_step - share * air_step
        spread = 1.4826 * float(np.median(np.abs(left))) + 1e-4
        keep = np.abs(left) < 3 * spread
    return float(np.clip(share, 0.0, 0.5))


def _saw(beer: Floats, air: Floats, hours: Floats, least: float, pairs: int) -> float | None:
    """Hour at which `pairs` sharp rises and falls came together within a day."""
    if len(beer) < 6:
        return None
    beer_turn, air_turn = np.diff(beer, 2), np.diff(air, 2)
    share = clipped_share(beer_turn, air_turn)
    turn = beer_turn - share * air_turn
    limit = least + AIR_TOOTH * np.abs(air_turn)
    at = hours[2:]
    ups, downs = at[turn > limit], at[turn < -limit]
    for end in np.sort(np.concatenate([ups, downs])).tolist():
        recent_up = np.sum((ups > end - 24) & (ups <= end))
        recent_down = np.sum((downs > end - 24) & (downs <= end))
        if recent_up >= pairs and recent_down >= pairs:
            return float(end)
    return None


def heater(bins: Bins, fine: tuple[Floats, Floats, Floats] | None) -> Sign | None:
    """A thermostat's saw-tooth in the beer. fine: hours, beer and air of 10 minute bins without gaps."""
    rare = max(1.0, math.sqrt(bins.interval_min))
    late = bins.hours > 2.0
    hour = _saw(bins.beer[late], bins.air[late], bins.hours[late], 0.06 * rare, 2)
    if hour is None and fine is not None:
        hours, beer, air = fine
        late = hours > 2.0
        hour = _saw(beer[late], air[late], hours[late], 0.08 * rare, 3)
    if hour is None:
        return None
    return Sign(
        "heater", hour, "Something switches heat on and off at the vessel: the beer rises and falls in teeth."
    )


def forced_cooling(bins: Bins, volume_l: float) -> Sign | None:
    """A fall faster than this room could cause: a fridge, ice, a cold bath."""
    tau = 7.5 * (volume_l / 5) ** (1 / 3)
    n = max(1, round(3 / bins.step_h))
    cooler = np.minimum(bins.air, bins.six)
    above = running_mean(bins.beer - cooler, n) + 1.5
    slope = np.zeros_like(bins.beer)
    slope[n:] = (bins.beer[n:] - bins.beer[:-n]) / (n * bins.step_h)
    short = slope + np.maximum(above / (0.5 * tau), above / (2 * tau))
    run = 0.0
    for hour, value in zip(bins.hours.tolist(), short.tolist(), strict=True):
        run = run + bins.step_h if value < -0.05 and hour > 10 else 0.0
        if run >= 2.0:
            return Sign("forced-cooling", hour, "The beer falls faster than the room can cool it.")
    return None


def exchanged(bins: Bins) -> Sign | None:
    """The probe called liquid moves like air and the other like beer."""
    late = bins.hours > 1.0
    if late.sum() < 12:
        return None
    beer_step, air_step = np.diff(bins.beer[late]), np.diff(bins.air[late])
    beer_rough = float(np.sqrt(np.mean(np.diff(beer_step) ** 2)))
    air_rough = float(np.sqrt(np.mean(np.diff(air_step) ** 2)))
    beer_moves = float(np.sqrt(np.mean(beer_step**2)))
    air_moves = float(np.sqrt(np.mean(air_step**2)))
    if air_moves < 0.6 * beer_moves and air_rough < 0.7 * beer_rough and beer_moves > 0.04:
        return Sign(
            "exchanged",
            float(bins.hours[-1]),
            "The surroundings probe moves more slowly than the liquid probe: they may be exchanged.",
        )
    return None


def sudden_cold(bins: Bins) -> Sign | None:
    """The air fell 5 C below the day before: the vessel stands somewhere else now."""
    n = max(1, round(1 / bins.step_h))
    day = round(24 / bins.step_h)
    hourly = running_mean(bins.air, n)
    for k in range(day, len(hourly)):
        if hourly[k] < float(np.median(bins.air[k - day : k])) - 5.0:
            return Sign(
                "sudden-cold", float(bins.hours[k]), "The air round the vessel fell by 5 C within a day."
            )
    return None
