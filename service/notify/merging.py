"""Making one message of many that could not leave in time. Pure."""

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo

from service.notify.envelope import Envelope
from service.notify.outbox import Delivery

OLD_AFTER = timedelta(minutes=10)
"""A message that waited longer is no news any more, and goes with the others of its age."""

MOST_MERGED = 25
LONGEST_TEXT = 3500
"""Characters. Longer than this, the titles alone are listed: some services take no more than 4,096."""

LONGEST_TITLE = 110
"""Characters of a title in such a list."""


@dataclass(frozen=True, slots=True)
class Parcel:
    """What leaves in one piece: one envelope, and the deliveries it settles."""

    deliveries: tuple[Delivery, ...]
    envelope: Envelope


def merge_old(deliveries: Sequence[Delivery], now: datetime, zone: tzinfo = UTC) -> list[Parcel]:
    """The deliveries of one channel in their order, neighbours that are old joined, up to 25 in one.

    When the first has failed before, it goes alone and unchanged: the attempt that finds out whether the
    far end is back must be recognisable as a repeat. zone: the one in which original times are written.
    """
    parcels: list[Parcel] = []
    run: list[Delivery] = []
    for delivery in deliveries:
        old = now - delivery.created_at >= OLD_AFTER
        alone = not old or (delivery is deliveries[0] and delivery.attempts > 0)
        if run and (alone or len(run) == MOST_MERGED):
            parcels.append(_parcel(run, zone))
            run = []
        if alone:
            parcels.append(single(delivery))
        else:
            run.append(delivery)
    if run:
        parcels.append(_parcel(run, zone))
    return parcels


def single(delivery: Delivery) -> Parcel:
    """A delivery by itself, its envelope unchanged."""
    return Parcel((delivery,), delivery.envelope)


def _parcel(run: list[Delivery], zone: tzinfo) -> Parcel:
    if len(run) == 1:
        return single(run[0])
    envelopes = [delivery.envelope for delivery in run]
    vessels = {envelope.vessel for envelope in envelopes}
    first, last = (_written(envelope.at, zone) for envelope in (envelopes[0], envelopes[-1]))
    title = f"{len(run)} messages that could not leave, {first} to {last}"
    return Parcel(
        tuple(run),
        Envelope(
            id="merged-" + hashlib.sha256("\n".join(e.id for e in envelopes).encode()).hexdigest()[:24],
            reason="merged",
            vessel=vessels.pop() if len(vessels) == 1 else None,
            title=title,
            text=f"{title}.\n\n{_listed(envelopes, zone)}",
            alarms=_last_of_each(envelopes),
            at=envelopes[-1].at,
        ),
    )


def _listed(envelopes: list[Envelope], zone: tzinfo) -> str:
    whole = "\n\n".join(f"{_written(e.at, zone)}: {e.title}\n{e.text}" for e in envelopes)
    if len(whole) <= LONGEST_TEXT:
        return whole
    return "\n".join(f"{_written(e.at, zone)}: {e.title[:LONGEST_TITLE]}" for e in envelopes)


def _written(at: datetime, zone: tzinfo) -> str:
    return at.astimezone(zone).strftime("%Y-%m-%d %H:%M %Z")


def _last_of_each(envelopes: list[Envelope]) -> tuple[Mapping[str, object], ...]:
    """Each alarm once, as the last of the messages showed it."""
    latest: dict[str, Mapping[str, object]] = {}
    for envelope in envelopes:
        for alarm in envelope.alarms:
            latest[str(alarm.get("id"))] = alarm
    return tuple(latest.values())
