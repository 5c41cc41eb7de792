"""Where a batch was when: dated places in vessels, one at a time and without gap."""

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
    places: Sequence[Place], vessel_id: str, at: datetime, now: datetime | None = None
) -> tuple[Place, ...]:
    """The places with the batch moved to another vessel at `at`, which may be past.

    InvalidInputError: a time without offset, not after the move before it, or after `now` where that is
    given. ConflictError: it is in that vessel already, or its last place was closed.
    """
    at = moment(at, "/from")
    if now is not None and at > moment(now, "/now"):
        raise InvalidInputError(
            Problem(
                "/from", f"{said_time(at)} is in the future", "give a time that has passed, or none for now"
            )
        )
    if not places:
        return (Place(vessel_id, at),)
    last = places[-1]
    if last.to_at is not None:
        raise ConflictError(f"The batch left '{last.vessel_id}' at {said_time(last.to_at)} and has ended.")
    if last.vessel_id == vessel_id:
        raise ConflictError(f"The batch is in '{vessel_id}' already, since {said_time(last.from_at)}.")
    if at <= last.from_at:
        raise InvalidInputError(
            Problem(
                "/from",
                f"{said_time(at)} is not after {said_time(last.from_at)}, its move into '{last.vessel_id}'",
                "give a later time, or undo that move first",
            )
        )
    return (*places[:-1], replace(last, to_at=at), Place(vessel_id, at))


def close(places: Sequence[Place], at: datetime) -> tuple[Place, ...]:
    """The places with the last one left at `at`, the batch having ended, or having ended at another time.

    InvalidInputError: a time without offset, or before the last move.
    """
    at = moment(at, "/at")
    if not places:
        return ()
    last = places[-1]
    if at < last.from_at:
        raise InvalidInputError(
            Problem(
                "/at",
                f"{said_time(at)} is before {said_time(last.from_at)}, when it came into '{last.vessel_id}'",
                "give a later time",
            )
        )
    return (*places[:-1], replace(last, to_at=at))


def reopen(places: Sequence[Place]) -> tuple[Place, ...]:
    """The places with the last one not left after all, the batch going on."""
    return (*places[:-1], replace(places[-1], to_at=None)) if places else ()


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
