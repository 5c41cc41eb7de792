"""Where a batch was when: dated places in vessels without gap; several at a time where it is split."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from service.errors import ConflictError, InvalidInputError, Problem
from service.plans.moments import moment, said_time


@dataclass(frozen=True, slots=True)
class Place:
    """A batch in a vessel from a time to a time (aware UTC); to_at is None while it is there."""

    vessel_id: str
    from_at: datetime
    to_at: datetime | None = None


def move(
    places: Sequence[Place],
    vessel_id: str,
    at: datetime,
    now: datetime | None = None,
    *,
    also: bool = False,
    leaves: str | None = None,
) -> tuple[Place, ...]:
    """The places with the batch moved to another vessel at `at`, which may be past.

    It leaves every vessel it is in; with `leaves` only that one; with `also` none, so that it is in both
    from then on. InvalidInputError: a time without offset, not after the move before it, or after `now`
    where that is given; `also` and `leaves` together; a vessel to leave that it is not in. ConflictError:
    it is in that vessel already, or has ended.
    """
    at = _not_ahead(at, now, "/from")
    if not places:
        return (Place(vessel_id, at),)
    here = open_places(places)
    if not here:
        last = max(places, key=lambda place: place.to_at or place.from_at)
        raise ConflictError(
            f"The batch left '{last.vessel_id}' at {said_time(last.to_at or last.from_at)} and has ended."
        )
    if also and leaves is not None:
        raise InvalidInputError(
            Problem("/leaves", "it cannot leave a vessel and also stay", "give also or leaves, not both")
        )
    for place in here:
        if place.vessel_id == vessel_id:
            raise ConflictError(f"The batch is in '{vessel_id}' already, since {said_time(place.from_at)}.")
    left = [] if also else [_open_in(here, leaves, "/leaves")] if leaves is not None else list(here)
    after = min(here, key=lambda place: place.from_at) if also else max(left, key=lambda p: p.from_at)
    if at < after.from_at or (at == after.from_at and not also):
        raise InvalidInputError(
            Problem(
                "/from",
                f"{said_time(at)} is not after {said_time(after.from_at)}, its move into '{after.vessel_id}'",
                "give a later time, or undo that move first",
            )
        )
    stays = (replace(place, to_at=at) if place in left else place for place in places)
    return tuple(sorted((*stays, Place(vessel_id, at)), key=lambda place: place.from_at))


def leave(
    places: Sequence[Place], vessel_id: str, at: datetime, now: datetime | None = None
) -> tuple[Place, ...]:
    """The places with one of several vessels left at `at`, the rest of the batch staying where it is.

    InvalidInputError: a time without offset, in the future, or not after its move into that vessel; a
    vessel it is not in. ConflictError: it is in no other vessel.
    """
    at = _not_ahead(at, now, "/at")
    here = open_places(places)
    left = _open_in(here, vessel_id, "/vessel_id")
    if len(here) == 1:
        raise ConflictError(f"The batch is only in '{vessel_id}'. Move it, or end it.")
    if at <= left.from_at:
        raise InvalidInputError(
            Problem("/at", f"{said_time(at)} is not after {said_time(left.from_at)}", "give a later time")
        )
    return tuple(replace(place, to_at=at) if place == left else place for place in places)


def open_places(places: Sequence[Place]) -> tuple[Place, ...]:
    """Where the batch is now: one place, several where it is split, none once it has ended."""
    return tuple(place for place in places if place.to_at is None)


def _open_in(here: Sequence[Place], vessel_id: str, field: str) -> Place:
    found = next((place for place in here if place.vessel_id == vessel_id), None)
    if found is None:
        among = ", ".join(f"'{place.vessel_id}'" for place in here) or "no vessel"
        raise InvalidInputError(Problem(field, f"the batch is not in '{vessel_id}'", f"it is in {among}"))
    return found


def _not_ahead(at: datetime, now: datetime | None, field: str) -> datetime:
    at = moment(at, field)
    if now is not None and at > moment(now, "/now"):
        raise InvalidInputError(
            Problem(
                field, f"{said_time(at)} is in the future", "give a time that has passed, or none for now"
            )
        )
    return at


def close(places: Sequence[Place], at: datetime) -> tuple[Place, ...]:
    """The places it was in last left at `at`, the batch having ended, or having ended at another time.

    InvalidInputError: a time without offset, or before the last move.
    """
    at = moment(at, "/at")
    if not places:
        return ()
    ends = _last_of(places)
    last = max(ends, key=lambda place: place.from_at)
    if at < last.from_at:
        raise InvalidInputError(
            Problem(
                "/at",
                f"{said_time(at)} is before {said_time(last.from_at)}, when it came into '{last.vessel_id}'",
                "give a later time",
            )
        )
    return tuple(replace(place, to_at=at) if place in ends else place for place in places)


def reopen(places: Sequence[Place]) -> tuple[Place, ...]:
    """The places with those it was in last not left after all, the batch going on."""
    ends = _last_of(places)
    return tuple(replace(place, to_at=None) if place in ends else place for place in places)


def _last_of(places: Sequence[Place]) -> tuple[Place, ...]:
    """Where it is, or was when it ended."""
    here = open_places(places)
    if here or not places:
        return here
    ended = max(place.to_at for place in places if place.to_at is not None)
    return tuple(place for place in places if place.to_at == ended)


def place_at(places: Sequence[Place], at: datetime) -> Place | None:
    """The place the batch was in at a time, or None; at the moment of a move it is in the new one."""
    at = moment(at, "/at")
    return next(
        (place for place in places if place.from_at <= at and (place.to_at is None or at < place.to_at)), None
    )


def places_between(places: Sequence[Place], from_at: datetime, to_at: datetime) -> list[Place]:
    """The places of a stretch of time, cut to it, in order."""
    from_at, to_at = moment(from_at, "/from"), moment(to_at, "/to")
    cut = (
        Place(
            place.vessel_id,
            max(place.from_at, from_at),
            to_at if place.to_at is None else min(place.to_at, to_at),
        )
        for place in places
    )
    return [place for place in cut if place.to_at is not None and place.from_at < place.to_at]
