"""Marks on a batch's curve where one of its probes was hung, taken away or replaced. Pure.

They follow from the dated assignments, so that a change told late is marked at its own time.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime

from service.actions.answers import ProbeMark
from service.record.facts import Assignment, PlacedFor, Probe

BY_ROLE = {"liquid": "in the beer", "surroundings": "beside the vessel", "bath": "in the bath"}


def probe_marks(
    probes: Mapping[str, Probe],
    assignments: Sequence[Assignment],
    places: Sequence[PlacedFor],
    from_at: datetime,
    to_at: datetime,
) -> list[ProbeMark]:
    """The changes of the probes where the batch was from one time to another, oldest first.

    What hung there already when the batch came is no change.
    """
    found = [
        mark
        for place in places
        for role in BY_ROLE
        for mark in _at_place(probes, assignments, place, role)
        if from_at <= mark.at <= to_at
    ]
    return sorted(found, key=lambda mark: (mark.at, mark.role))


def _at_place(
    probes: Mapping[str, Probe], assignments: Sequence[Assignment], place: PlacedFor, role: str
) -> Iterator[ProbeMark]:
    here = [a for a in assignments if a.vessel_id == place.vessel_id and a.role == role]
    times = {a.from_at for a in here} | {a.to_at for a in here if a.to_at is not None}
    for at in sorted(times):
        if at <= place.from_at or (place.to_at is not None and at >= place.to_at):
            continue
        came = [a.probe_id for a in here if a.from_at == at and a.to_at != at]
        went = [a.probe_id for a in here if a.to_at == at and a.from_at != at]
        new = next((one for one in came if one not in went), None)
        old = next((one for one in went if one not in came), None)
        if new is None and old is None:
            continue
        words = _words(_name(probes, new), _name(probes, old), BY_ROLE[role])
        yield ProbeMark(
            at=at, role=role, vessel_id=place.vessel_id, probe_id=new, before_id=old, sentence=words
        )


def _name(probes: Mapping[str, Probe], probe_id: str | None) -> str:
    if probe_id is None:
        return ""
    return probes[probe_id].label if probe_id in probes else probe_id


def _words(new: str, old: str, where: str) -> str:
    if new and old:
        return f"The probe {new} took over from {old} {where}."
    return f"The probe {new} was hung {where}." if new else f"The probe {old} {where} was taken away."
