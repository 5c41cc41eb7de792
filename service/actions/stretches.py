"""Which probe told of a batch, when, in which role and place: the stretches its curves are made of."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

from service.record.facts import Assignment, CalibrationLine, PlacedFor, Probe
from service.record.types import EPOCH
from service.watch.fold import minute_of
from service.watch.house import line_at

HALF_A_MINUTE = timedelta(seconds=30)


@dataclass(frozen=True, slots=True)
class Stretch:
    """A probe in a role at a place of the batch, in whole minutes since 1970: [from_minute, to_minute).

    number: what its minutes are stored under. interval_s: between two values, None: of the sweep.
    """

    probe_id: str
    number: int
    role: str
    vessel_id: str
    interval_s: float | None
    from_minute: int
    to_minute: int


def stretches(
    probes: Mapping[str, Probe],
    assignments: Sequence[Assignment],
    places: Sequence[PlacedFor],
    first: int,
    last: int,
) -> list[Stretch]:
    """The stretches of a batch within the minutes [first, last), oldest first; no minute comes twice.

    probes: also those taken away since, whose minutes stay.
    """
    found = [
        Stretch(probe.id, probe.number, a.role, place.vessel_id, probe.interval_s, begins, ends)
        for place in places
        for a in assignments
        if a.vessel_id == place.vessel_id
        and (probe := probes.get(a.probe_id)) is not None
        and (begins := max(first, minute_of(max(place.from_at, a.from_at))))
        < (ends := min([last, *(minute_of(at) + 1 for at in (place.to_at, a.to_at) if at is not None)]))
    ]
    return sorted(_apart(found), key=lambda s: (s.from_minute, s.probe_id, s.role))


def _apart(found: Sequence[Stretch]) -> Iterator[Stretch]:
    """A probe moved within a minute belongs in that minute to where it came."""
    in_order = sorted(found, key=lambda s: (s.number, s.from_minute))
    for one, after in zip(in_order, [*in_order[1:], None], strict=False):
        if after is not None and after.number == one.number:
            one = replace(one, to_minute=min(one.to_minute, after.from_minute))
        if one.from_minute < one.to_minute:
            yield one


def calibrated_from(line: CalibrationLine) -> int:
    """The first minute that a calibration holds for: the first whose middle it has reached."""
    return minute_of(line.from_at + HALF_A_MINUTE)


def line_of(lines: tuple[CalibrationLine, ...], minute: int) -> CalibrationLine | None:
    """The calibration of a whole minute: the one that holds at its middle."""
    return line_at(lines, EPOCH + timedelta(minutes=minute) + HALF_A_MINUTE)
