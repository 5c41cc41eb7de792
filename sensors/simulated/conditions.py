"""What holds at an hour of a scenario: where the vessel stands, what is around it, where its probe is."""

from dataclasses import dataclass
from math import inf

from sensors.simulated.happenings import (
    DoorOpened,
    Fridge,
    HeatPad,
    Lagging,
    Move,
    ProbeMoved,
    SugarAdded,
    WetCloth,
)
from sensors.simulated.scenario import Scenario
from sensors.simulated.tip import Tip


@dataclass(frozen=True, slots=True)
class Conditions:
    """What holds from an hour on, until `until_h`.

    times and below_c: what is wrapped around the vessel multiplies the exchange with its surroundings, and
    cools the side they are felt from. Of several fridges the latest counts.
    """

    place: str
    probe: Tip
    times: float
    below_c: float
    pads: tuple[HeatPad, ...]
    fridge: Fridge | None
    until_h: float


def conditions_at(scenario: Scenario, hour: float) -> Conditions:
    """What holds `hour` hours after the start."""
    place, probe = scenario.place, scenario.probe
    times, below_c = 1.0, 0.0
    pads: list[HeatPad] = []
    fridge: Fridge | None = None
    until_h = inf
    for happening in sorted(scenario.happenings, key=lambda h: h.at_h):
        begins, ends = happening.at_h, _end_h(happening)
        until_h = min([until_h, *(h for h in (begins, ends) if h > hour)])
        if not begins <= hour < ends:
            continue
        match happening:
            case Move():
                place = happening.to
            case ProbeMoved():
                probe = happening.to
            case WetCloth():
                times *= happening.times
                below_c += happening.below_c
            case Lagging():
                times *= happening.times
            case HeatPad():
                pads.append(happening)
            case Fridge():
                fridge = happening
            case DoorOpened() | SugarAdded():
                pass
    return Conditions(place, probe, times, below_c, tuple(pads), fridge, until_h)


def _end_h(happening: object) -> float:
    lasts_h: float | None = getattr(happening, "lasts_h", None)
    return inf if lasts_h is None else getattr(happening, "at_h", 0.0) + lasts_h
