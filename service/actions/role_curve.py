"""The curve of a role: what its probes showed at a batch's vessels, each while it hung there, calibrated.

The dated assignments decide whose values count when, also those of probes taken away or replaced since;
within a bucket each minute is brought through the calibration that held then.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise

from sqlalchemy import Connection

from service.actions.stretches import calibrated_from, line_of
from service.record.facts import Assignment, Probe
from service.record.minutes import Bucket, buckets, merged
from service.record.vessels import probes_ever
from service.watch.fold import minute_of
from service.watch.house import House
from service.watch.typed import TYPED, held, holds_min

A_DAY_MIN = 1440
"""Minutes are read day by day, so that the program that runs for weeks stays small."""

Where = Sequence[tuple[str, datetime, datetime]]
"""Vessels, each from a time to a time."""


@dataclass(frozen=True, slots=True)
class Window:
    """A probe's number and id, the minutes [begins, ends) in which it counts, and whether a person reads it.

    hung: the minute from which on its values are of this place.
    """

    number: int
    probe_id: str
    begins: int
    ends: int
    typed: bool = False
    hung: int = 0


def windows(
    probes: Mapping[str, Probe], assignments: Sequence[Assignment], where: Where, role: str
) -> list[Window]:
    """When which probe hung in a role where it is looked at; of two at once the one that counts comes later.

    What is measured counts before what is typed in.

    The minute within which one probe is taken away and another hung belongs to both.
    """
    found = []
    for vessel_id, since, until in where:
        for a in assignments:
            probe = probes.get(a.probe_id)
            if probe is None or a.vessel_id != vessel_id or a.role != role:
                continue
            left = until if a.to_at is None else min(until, a.to_at)
            begins, ends = minute_of(max(since, a.from_at)), _last_minute(left, until)
            if begins < ends:
                typed = probe.source == TYPED
                found.append(Window(probe.number, probe.id, begins, ends, typed, minute_of(a.from_at)))
    return sorted(found, key=lambda w: not w.typed)


def _last_minute(left: datetime, until: datetime) -> int:
    """A probe taken away within a minute still tells of that minute; the end asked for cuts sharp."""
    return minute_of(left) + (1 if left < until else 0)


def role_curve(
    connection: Connection, house: House, where: Where, role: str, width_min: int = 1
) -> list[Bucket]:
    """Calibrated means in milli-degrees C, in aligned buckets of `width_min` minutes, oldest first.

    where: the vessels looked at, each from a time to a time. Of two probes in one role at the same time
    the one assigned later counts, and the other where that one was silent.
    """
    found = windows(probes_ever(connection), house.assignments, where, role)
    parts: list[Bucket] = []
    for first, last in _pieces(house, found):
        here: dict[int, Bucket] = {}
        for window in found:
            if window.begins <= first and last <= window.ends:
                lines = house.lines.get(window.probe_id, ())
                line = line_of(lines, first)
                for part in _parts(connection, window, first, last, width_min):
                    here[part.start_minute] = (
                        part if line is None else _through(part, line.slope, line.offset_c)
                    )
        parts += [here[start] for start in sorted(here)]
    return merged(parts)


def _parts(connection: Connection, window: Window, first: int, last: int, width_min: int) -> list[Bucket]:
    if not window.typed:
        return buckets(connection, window.number, first, last, width_min)
    since = max(window.hung, first - holds_min())
    return held(buckets(connection, window.number, since, last, 1), first, last, width_min)


def _pieces(house: House, found: Sequence[Window]) -> Iterator[tuple[int, int]]:
    """Stretches of at most a day in which the same probes hang and the same calibrations hold."""
    if not found:
        return
    first, last = min(w.begins for w in found), max(w.ends for w in found)
    edges = {edge for w in found for edge in (w.begins, w.ends)}
    edges |= set(range(first - first % A_DAY_MIN + A_DAY_MIN, last, A_DAY_MIN))
    for probe_id in {w.probe_id for w in found}:
        edges |= {m for m in map(calibrated_from, house.lines.get(probe_id, ())) if first < m < last}
    for a, b in pairwise(sorted(edges)):
        if any(w.begins <= a and b <= w.ends for w in found):
            yield a, b


def _through(part: Bucket, slope: float, offset_c: float) -> Bucket:
    low, high = (round(slope * mc + offset_c * 1000) for mc in (part.min_mc, part.max_mc))
    return replace(part, mean_mc=slope * part.mean_mc + offset_c * 1000, min_mc=low, max_mc=high)
