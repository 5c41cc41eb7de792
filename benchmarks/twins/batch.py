"""An invented batch as both makers hand it over, and the probe that looks at it."""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

MOUNTINGS = ("thermowell", "lagged", "bare")


@dataclass(frozen=True)
class Twin:
    """Measured minutes and the hidden truth. Hours count from pitching; gravities are SG.

    hours/beer_c/air_c: one value a minute as measured. truth_hours/truth_sg: the true gravity every
    quarter of an hour; final_sg where it would stop. true_beer_c: the beer itself, every minute.
    """

    maker: str
    seed: int
    scenario: str
    room: str
    mounting: str
    volume_l: float
    og: float
    hours: Floats
    beer_c: Floats
    air_c: Floats
    true_beer_c: Floats
    truth_hours: Floats
    truth_sg: Floats
    final_sg: float
    heat_share: float
    wall: str = "plastic"
    moved_h: float | None = None
    cooled_h: float | None = None
    heater: tuple[tuple[float, bool], ...] = field(default=())

    def sg_at(self, hour: float) -> float:
        """The true gravity at an hour after pitching."""
        return float(np.interp(hour, self.truth_hours, self.truth_sg))


@dataclass(frozen=True)
class Scenario:
    """What is special about a batch; every maker understands the same names."""

    name: str = "plain"
    volume_l: float | None = None
    mounting: str | None = None
    room: str | None = None


SCENARIOS = ("plain", "never-pitched", "stopped", "pad", "cooled", "box", "lager", "moved", "cold-slow")


def probe(
    rng: np.random.Generator, beer: Floats, air: Floats, mounting: str, lag_min: float
) -> tuple[Floats, Floats]:
    """What two DS18B20 give for beer and air, as means of a minute: own errors and lag, 1/16 degree steps."""
    share = {
        "thermowell": rng.uniform(0.0, 0.03),
        "lagged": rng.uniform(0.02, 0.10),
        "bare": rng.uniform(0.14, 0.38),
    }[mounting]
    seen = (1 - share) * beer + share * air
    keep = np.exp(-1.0 / max(lag_min, 0.5))
    slow = np.empty_like(seen)
    state = seen[0]
    for k, value in enumerate(seen):
        state = keep * state + (1 - keep) * value
        slow[k] = state
    beer_error, air_error = rng.normal(0, 0.17, 2)
    out = []
    for series, error in ((slow, beer_error), (air, air_error)):
        six = series[:, None] + error + rng.normal(0, 0.025, (len(series), 6))
        out.append(np.round(six * 16).astype(np.float64).mean(axis=1) / 16)
    return out[0], out[1]
