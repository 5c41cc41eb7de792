"""Kinds of number that a scenario holds, each with its limits and its unit."""

from dataclasses import dataclass
from typing import Annotated


@dataclass(frozen=True, slots=True)
class Between:
    """The limits of a number, both included, and its unit for messages."""

    low: float
    high: float
    unit: str


Degrees = Annotated[float, Between(-40.0, 120.0, "C")]
Span = Annotated[float, Between(0.0, 30.0, "C")]
HourOfDay = Annotated[float, Between(0.0, 24.0, "h")]
Hours = Annotated[float, Between(0.0, 24.0 * 400, "h")]
SomeHours = Annotated[float, Between(0.05, 24.0 * 60, "h")]
Minutes = Annotated[float, Between(0.5, 24.0 * 60, "min")]
Seconds = Annotated[float, Between(0.0, 6 * 3600.0, "s")]
Share = Annotated[float, Between(0.0, 1.0, "as a share of 1")]
Watts = Annotated[float, Between(0.0, 10_000.0, "W")]
Conductance = Annotated[float, Between(0.0, 500.0, "W/K")]
Litres = Annotated[float, Between(0.5, 200.0, "litres")]
Gravity = Annotated[float, Between(1.0, 1.15, "as specific gravity")]
Times = Annotated[float, Between(0.05, 20.0, "times the usual")]
