"""What a twin shows of itself at one time."""

from dataclasses import dataclass
from datetime import datetime
from typing import Protocol


@dataclass(frozen=True, slots=True)
class Moment:
    """The truth at one time, and what the probes' tips have of it.

    Temperatures are degrees Celsius: air_c beside the vessel, beer_c the mean of what is in it, top_c and
    bottom_c of its halves, wall_c of its wall, probe_c and room_probe_c at the tips (not yet in steps).
    gravity: specific gravity. heat_w: heat that the fermentation gives off, W. share: how much of what can
    ferment has fermented, 0 to 1. pad_w and fridge_w: heat that a pad or burner gives and a fridge takes, W.
    bath_c: the water around the vessel, or the air where there is none.
    """

    at: datetime
    air_c: float
    beer_c: float
    top_c: float
    bottom_c: float
    wall_c: float
    probe_c: float
    room_probe_c: float
    bath_c: float
    gravity: float
    heat_w: float
    share: float
    pad_w: float
    fridge_w: float


class Twin(Protocol):
    """Something simulated that answers for any time from its start on."""

    @property
    def starts(self) -> datetime:
        """The earliest time it answers for (aware UTC)."""
        ...

    @property
    def notes(self) -> tuple[str, ...]:
        """Sentences on how far it can be trusted."""
        ...

    def at(self, t: datetime) -> Moment:
        """How it is at a time; always the same for the same time, whatever was asked before.

        Raises ValueError for a naive time and for one before the start.
        """
        ...
