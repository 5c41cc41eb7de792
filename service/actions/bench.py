"""At the bottling bench: may it be packaged, and with how much sugar."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Connection

from service.actions.desk import Desk
from service.actions.evidence import (
    HourMean,
    corrected_or_none,
    end_moved_by,
    everything_of,
    pitched_at,
    reading_context,
    written,
)
from service.actions.numbers import call_by_name, plain
from service.brewing.expected_end import expected_end
from service.brewing.readiness import readiness
from service.brewing.readiness_evidence import BeerTemp, LateAddition, ReadinessEvidence
from service.brewing.readings import ReadingKind
from service.brewing.steadiness import DirectReading
from service.errors import InvalidInputError, Problem
from service.record.batches import batch_by_id
from service.record.entries import Entry
from service.record.facts import Batch

SMELLS = {"smells-of-butter": True, "smells-clean": False}
LOOK_BACK = timedelta(days=3)


def readiness_of(desk: Desk, batch_id: str, at: datetime | None) -> dict[str, Any]:
    """What evidence there is that fermentation is over, what is missing, and what to do next."""
    at = at or desk.now()
    with desk.record.reading() as connection:
        row = batch_by_id(connection, batch_id)
        evidence, _ = _evidence(desk, connection, row, at)
    answer: dict[str, Any] = plain(readiness(evidence, at))
    return answer


def prime_batch(desk: Desk, batch_id: str, asked: Mapping[str, Any]) -> dict[str, Any]:
    """The priming computation with the batch's own volume, warmest temperature and points left filled in."""
    now = desk.now()
    with desk.record.reading() as connection:
        row = batch_by_id(connection, batch_id)
        evidence, hours = _evidence(desk, connection, row, now)
    filled: dict[str, Any] = {}
    if row.volume_l is not None:
        filled["volume_l"] = row.volume_l
    warmest = _warmest(evidence.readings, hours, now)
    if warmest is not None:
        filled["warmest_c"] = round(warmest, 2)
    left = _points_left(evidence)
    if left is not None:
        filled["points_left"] = round(left, 1)
    missing = [
        Problem(f"/{name}", f"is not known of this batch: {what}", "Give it with the request.")
        for name, what in (
            ("volume_l", "it has no volume"),
            ("warmest_c", "no probe was in it since its last reading"),
        )
        if name not in filled and name not in asked
    ]
    if missing:
        raise InvalidInputError(*missing)
    answer: dict[str, Any] = plain(call_by_name("priming").ask({**filled, **asked}))
    shown = readiness(evidence, now)
    if not shown.ready:
        met = sum(check.met for check in shown.checks)
        answer["cautions"] = [
            f"This beer is not shown to be finished: {met} of {len(shown.checks)} checks "
            f"{'is' if met == 1 else 'are'} met. "
            f"Do not bottle it yet. {shown.next.do}",
            *answer["cautions"],
        ]
    return answer


def _evidence(
    desk: Desk, connection: Connection, row: Batch, at: datetime
) -> tuple[ReadinessEvidence, list[HourMean]]:
    told = written(connection, row.id, at)
    hours = everything_of(desk, row, connection, at)
    yeast = row.yeast or {}
    smells = [SMELLS[e.body["what"]] for e in told["sightings"] if e.body["what"] in SMELLS]
    evidence = ReadinessEvidence(
        readings=_direct(row, told["readings"], told["additions"], hours),
        pitched_at=pitched_at(row, at),
        og=row.og,
        expected_fg=row.expected_fg,
        attenuation_low=yeast.get("attenuation_low"),
        attenuation_high=yeast.get("attenuation_high"),
        fg_change_pt=end_moved_by(row, told["additions"]),
        temps=tuple(BeerTemp(h.at, h.temp_c) for h in hours),
        yeast_low_c=yeast.get("low_c"),
        additions=tuple(
            LateAddition(e.at, e.body["what"])
            for e in sorted(told["additions"], key=lambda e: e.at)
            if e.at > (pitched_at(row, at) or row.started_at)
        ),
        smells_of_butter=smells[0] if smells else None,
        mixed_culture=bool(yeast.get("mixed_culture")),
    )
    return evidence, hours


def _direct(
    row: Batch, readings: Sequence[Entry], additions: Sequence[Entry], hours: Sequence[HourMean]
) -> tuple[DirectReading, ...]:
    found = []
    for entry in sorted(readings, key=lambda e: (e.at, e.n)):
        one = corrected_or_none(entry, reading_context(row, readings, additions, entry.at, hours))
        if one is not None:
            kind = ReadingKind(entry.body["by"])
            found.append(DirectReading(entry.at, kind, one.corrected_sg, one.low, one.high))
    return tuple(found)


def _warmest(readings: Sequence[DirectReading], hours: Sequence[HourMean], now: datetime) -> float | None:
    """The warmest hour since the first of the last two readings, at least over the last three days.

    By then the beer had all but stopped; what gas a warmer time before that drove out was made up for.
    """
    direct = [r for r in readings if r.by is not ReadingKind.LIMIT_JAR]
    since = min([now - LOOK_BACK, *(r.at for r in direct[-2:])])
    return max((h.temp_c for h in hours if h.at >= since - timedelta(hours=1)), default=None)


def _points_left(evidence: ReadinessEvidence) -> float | None:
    """Points above the expected end by the last direct reading; None when either is not known."""
    direct = [r for r in evidence.readings if r.by is not ReadingKind.LIMIT_JAR]
    end = expected_end(
        evidence.readings,
        og=evidence.og,
        expected_fg=evidence.expected_fg,
        attenuation_low=evidence.attenuation_low,
        attenuation_high=evidence.attenuation_high,
        change_pt=evidence.fg_change_pt,
    )
    if not direct or end is None:
        return None
    nominal = (end.low + end.high) / 2
    jar = any(r.by is ReadingKind.LIMIT_JAR for r in evidence.readings)
    if evidence.expected_fg is not None and not jar:
        nominal = evidence.expected_fg + evidence.fg_change_pt / 1000
    return max(0.0, (direct[-1].sg - nominal) * 1000)
