"""Figures, times and lengths of time as this brewer wants to read them. Pure; the time now is passed in."""

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from service.brewing.sucrose import plato_from_sg, sg_from_plato

MINUS = "−"
UNKNOWN = "–"
MOST_PLATO = (-10.0, 60.0)
"""What the density of a sugar solution is known for, with room below for what alcohol makes lighter."""


@dataclass(frozen=True, slots=True)
class Taste:
    """How one brewer wants values written.

    units: C or F. clock: 12 or 24 hours. timezone: by its IANA name. gravity: SG or Plato.
    """

    units: str = "C"
    clock: int = 24
    timezone: str = "UTC"
    gravity: str = "SG"

    def degrees(self, temp_c: float) -> float:
        """A temperature in the brewer's unit."""
        return temp_c * 9 / 5 + 32 if self.units == "F" else temp_c

    def span(self, span_c: float) -> float:
        """A difference of temperatures in the brewer's unit."""
        return span_c * 9 / 5 if self.units == "F" else span_c

    def celsius(self, typed: float) -> float:
        """A temperature that was typed in the brewer's unit, in C."""
        return round((typed - 32) * 5 / 9, 6) if self.units == "F" else typed

    def span_c(self, typed: float) -> float:
        """A difference of temperatures that was typed in the brewer's unit, in C."""
        return round(typed * 5 / 9, 6) if self.units == "F" else typed

    def sg(self, typed: float) -> float:
        """A gravity that was typed in the brewer's scale, as SG; not finite where none can be meant."""
        if self.gravity != "Plato":
            return typed
        return round(sg_from_plato(typed), 6) if MOST_PLATO[0] <= typed <= MOST_PLATO[1] else math.inf

    def scale(self, sg: float) -> float:
        """A gravity in the brewer's scale."""
        return plato_from_sg(sg) if self.gravity == "Plato" else sg

    def gravity_figure(self, sg: float, digits: int = 3) -> str:
        """A gravity without its scale; digits are those of SG, and Plato, coarser, gets two fewer."""
        return number(self.scale(sg), digits if self.gravity == "SG" else digits - 2)

    def gravity_words(self, sg: float, digits: int = 3) -> str:
        """A gravity with its scale: ``1.048 SG``, ``11.9 Plato``."""
        return f"{self.gravity_figure(sg, digits)} {self.gravity}"

    def figure(self, temp_c: float | None, digits: int = 1) -> str:
        """A temperature without its unit, or a dash."""
        return UNKNOWN if temp_c is None else number(self.degrees(temp_c), digits)

    def temperature(self, temp_c: float | None, digits: int = 1) -> str:
        """A temperature with its unit: ``19.8 C``."""
        return UNKNOWN if temp_c is None else f"{self.figure(temp_c, digits)} {self.units}"

    def difference(self, span_c: float, digits: int = 1) -> str:
        """The size of a difference with its unit, without a sign."""
        return f"{number(abs(self.span(span_c)), digits)} {self.units}"

    def local(self, at: datetime) -> datetime:
        """A time in the brewer's zone."""
        return at.astimezone(ZoneInfo(self.timezone))

    def hour(self, at: datetime) -> str:
        """The time of day: ``14:05`` or ``2:05 pm``."""
        local = self.local(at)
        if self.clock == 12:
            return f"{local.hour % 12 or 12}:{local:%M} {'am' if local.hour < 12 else 'pm'}"
        return f"{local:%H:%M}"

    def moment(self, at: datetime, now: datetime) -> str:
        """A time as short as it stays clear: the hour today, the weekday this week, else the date."""
        local, today = self.local(at), self.local(now)
        days = (local.date() - today.date()).days
        if days == 0:
            return self.hour(at)
        if abs(days) < 7:
            return f"{local:%a} {self.hour(at)}"
        year = "" if local.year == today.year else f" {local.year}"
        return f"{local.day} {local:%b}{year} {self.hour(at)}"

    def day(self, at: datetime) -> str:
        """The date alone: ``25 Nov 2026``."""
        local = self.local(at)
        return f"{local.day} {local:%b %Y}"


def number(value: float, digits: int = 1) -> str:
    """A figure with a true minus sign; what rounds to zero has none."""
    text = f"{abs(value):.{digits}f}"
    return f"{MINUS}{text}" if value < 0 and float(text) != 0 else text


def duration(length: timedelta) -> str:
    """A length of time in at most two units: ``4 s``, ``26 min``, ``3 h 10 min``, ``2 d 4 h``."""
    seconds = max(0, int(length.total_seconds()))
    if seconds < 60:
        return f"{seconds} s"
    minutes = seconds // 60
    if minutes < 60:
        return f"{minutes} min"
    hours, minutes = divmod(minutes, 60)
    if hours < 24:
        return f"{hours} h {minutes} min" if minutes else f"{hours} h"
    days, hours = divmod(hours, 24)
    return f"{days} d {hours} h" if hours else f"{days} d"


def duration_s(seconds: float) -> str:
    """A length of time given in seconds."""
    return duration(timedelta(seconds=seconds))


def clock(length: timedelta) -> str:
    """A length of time as a timer shows it: ``23:10``, ``1:05:09``."""
    minutes, seconds = divmod(max(0, int(length.total_seconds())), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02}:{seconds:02}" if hours else f"{minutes:02}:{seconds:02}"


def listed(names: list[str]) -> str:
    """Names in a sentence: ``A``, ``A and B``, ``A, B and C``."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def counted(count: int, one: str, many: str) -> str:
    """``one vessel``, ``three vessels``: small numbers as words."""
    words = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
    return f"{words[count] if count < len(words) else count} {one if count == 1 else many}"


def capital(text: str) -> str:
    """The text with its first letter raised, the rest untouched."""
    return text[:1].upper() + text[1:]


def lowered(text: str) -> str:
    """The text with its first letter lowered, the rest untouched."""
    return text[:1].lower() + text[1:]
