"""Quiet hours as they travel: ``{"monday": {"from": "22:00", "to": "07:00"}, …}``, or ``every-day``."""

import re
from collections.abc import Mapping
from datetime import time
from typing import Any
from zoneinfo import ZoneInfo

from service.alarms.quiet import QuietHours
from service.errors import InvalidInputError, Problem

WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
EVERY_DAY = "every-day"
CLOCK = re.compile(r"^([01]\d|2[0-3]):([0-5]\d)$")


def quiet_hours_from(given: Mapping[str, Any], zone: ZoneInfo) -> QuietHours:
    """Quiet hours in the brewer's time zone; InvalidInputError names what cannot be read."""
    by_weekday: dict[int, tuple[time, time]] = {}
    problems = []
    for day, span in given.items():
        field = f"/quiet_hours/{day}"
        if day not in (*WEEKDAYS, EVERY_DAY):
            problems.append(Problem(field, "is no day", f"Use {EVERY_DAY}, or {', '.join(WEEKDAYS)}."))
            continue
        if not isinstance(span, Mapping) or set(span) != {"from", "to"}:
            problems.append(Problem(field, "needs from and to", 'Give {"from": "22:00", "to": "07:00"}.'))
            continue
        clocks = [_clock(span[end]) for end in ("from", "to")]
        if clocks[0] is None or clocks[1] is None or clocks[0] == clocks[1]:
            problems.append(
                Problem(field, "has no two different times of day", "Write them as 22:00 and 07:00.")
            )
            continue
        for weekday in range(7) if day == EVERY_DAY else (WEEKDAYS.index(day),):
            by_weekday[weekday] = (clocks[0], clocks[1])
    if problems:
        raise InvalidInputError(*problems)
    return QuietHours(zone, by_weekday)


def _clock(value: Any) -> time | None:
    match = CLOCK.match(value) if isinstance(value, str) else None
    return None if match is None else time(int(match[1]), int(match[2]))
