"""Temperatures, times and lengths of time as people read them."""

from datetime import datetime
from enum import StrEnum
from zoneinfo import ZoneInfo


class Units(StrEnum):
    """In which degrees people read temperatures."""

    CELSIUS = "C"
    FAHRENHEIT = "F"


def degrees(temp_c: float, units: Units = Units.CELSIUS) -> str:
    """A temperature: "19.8 C". temp_c in C; never "-0.0"."""
    shown = temp_c if units is Units.CELSIUS else temp_c * 9 / 5 + 32
    return f"{_tenth(shown)} {units}"


def difference(by_c: float, units: Units = Units.CELSIUS) -> str:
    """A difference of temperatures, without its sign: "1.1 C". by_c in C."""
    shown = abs(by_c) if units is Units.CELSIUS else abs(by_c) * 9 / 5
    return f"{_tenth(shown)} {units}"


def clock(at: datetime, tz: ZoneInfo, now: datetime) -> str:
    """A local time, with as much of the date as is needed: "14:05", "Tue 14:05", "2026-11-03 14:05"."""
    local, today = at.astimezone(tz), now.astimezone(tz).date()
    if local.date() == today:
        return f"{local:%H:%M}"
    if abs((local.date() - today).days) < 7:
        return f"{_DAYS[local.weekday()]} {local:%H:%M}"
    return f"{local:%Y-%m-%d %H:%M}"


_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def span(seconds: float) -> str:
    """A length of time, rounded: "40 s", "12 min", "3 h 20 min", "2 days 4 h"."""
    if seconds < 90:
        return f"{seconds:.0f} s"
    minutes = round(seconds / 60)
    if minutes < 60:
        return f"{minutes} min"
    hours, minutes = divmod(minutes, 60)
    if hours < 48:
        return f"{hours} h" + (f" {minutes} min" if minutes else "")
    days, hours = divmod(round(seconds / 3600), 24)
    return f"{days} days" + (f" {hours} h" if hours else "")


def _tenth(value: float) -> str:
    return f"{round(value, 1) + 0.0:.1f}"
