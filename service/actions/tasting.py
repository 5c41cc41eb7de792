"""Faults that were tasted: what each batch's record has to explain them, and what batches have in common."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta

from sqlalchemy import Connection

from service.actions.desk import Desk
from service.actions.evidence import HourMean, beer_hours, end_moved_by, pitched_at
from service.actions.openings import against_packaged, correct_opening, direct_readings, packaged_at, packed
from service.actions.tasting_answers import CauseAnswer, FaultAcross, FaultAnswer, HoursAnswer, SharedCause
from service.brewing.expected_end import ExpectedEnd, expected_end
from service.brewing.readiness import readiness
from service.brewing.readiness_evidence import BeerTemp, CheckName, LateAddition, ReadinessEvidence
from service.brewing.readings import ReadingKind
from service.brewing.steadiness import DirectReading
from service.brewing.tasting import Explanation, Fault, Likelihood, TastingEvidence
from service.brewing.tasting_causes import explain
from service.plans.course import bands_between, stage_of
from service.plans.kinds import StageKind
from service.record.batches import batch_by_id, batches
from service.record.entries import Entry, entries
from service.record.estimates import kept_estimates
from service.record.facts import Batch
from service.thermal.warmth import warm_days
from service.watch.house import House, live_batch

EARLY = timedelta(hours=72)
USUAL_MOST_C = 22.0
"""Above this most ale yeasts make hot alcohols in their first days (common practice, from memory)."""
CARBONATES = timedelta(days=60)
LAST_DAYS = timedelta(days=2)
COVERED = 0.8
ENOUGH_WARM_DAYS = 14.0
FEW = 5
STEADY = frozenset({CheckName.READINGS_STEADY, CheckName.READINGS_FAR_ENOUGH_APART})
SAID = frozenset({Likelihood.COULD_WELL, Likelihood.MIGHT})


def faults_of(desk: Desk, batch_id: str) -> list[FaultAnswer]:
    """Every fault that was tasted in a batch, with what in its record could explain it."""
    with desk.record.reading() as connection:
        row = batch_by_id(connection, batch_id)
        tasted = tasted_faults(entries(connection, batch_id, "tastings"))
        evidence = {at: evidence_of(connection, desk.watch.house, row, at) for at in set(tasted.values())}
        return [_answer(at, explain(fault, evidence[at])) for fault, at in tasted.items()]


def faults_across(desk: Desk, fault: Fault | None = None) -> list[FaultAcross]:
    """For each fault that was tasted anywhere: which causes its batches share, and others have too."""
    with desk.record.reading() as connection:
        tasted: dict[str, tuple[Batch, Mapping[Fault, datetime], datetime]] = {}
        for row in batches(connection):
            told = entries(connection, row.id, "tastings")
            if told:
                tasted[row.id] = (row, tasted_faults(told), max(e.at for e in told))
        wanted = [f for f in Fault if any(f in faults for _, faults, _ in tasted.values())]
        return [
            _across(
                one,
                tasted,
                {
                    batch_id: evidence_of(connection, desk.watch.house, row, faults.get(one, last))
                    for batch_id, (row, faults, last) in tasted.items()
                },
            )
            for one in wanted
            if fault is None or one is fault
        ]


def tasted_faults(told: Sequence[Entry]) -> dict[Fault, datetime]:
    """The faults of a batch's tastings, each with when it was first tasted."""
    found: dict[Fault, datetime] = {}
    for entry in sorted(told, key=lambda e: (e.at, e.n)):
        for name in entry.body.get("faults", ()):
            found.setdefault(Fault(name), entry.at)
    return found


def _across(
    fault: Fault,
    tasted: Mapping[str, tuple[Batch, Mapping[Fault, datetime], datetime]],
    evidence: Mapping[str, TastingEvidence],
) -> FaultAcross:
    having = [batch_id for batch_id, (_, faults, _) in tasted.items() if fault in faults]
    clean = [batch_id for batch_id in tasted if batch_id not in having]
    causes = {
        batch_id: {
            cause.key for cause in explain(fault, evidence[batch_id]).causes if cause.likelihood in SAID
        }
        for batch_id in tasted
    }
    shared = [
        SharedCause(
            key=key,
            with_fault=[b for b in having if key in causes[b]],
            without_fault=[b for b in clean if key in causes[b]],
        )
        for key in sorted({key for batch_id in having for key in causes[batch_id]})
    ]
    shared.sort(key=lambda one: (len(one.without_fault) - len(one.with_fault), one.key))
    return FaultAcross(
        fault=fault,
        with_fault=having,
        without_fault=clean,
        causes=shared,
        sentence=_said_across(fault, having, clean, shared),
    )


def _said_across(
    fault: Fault, having: Sequence[str], clean: Sequence[str], shared: Sequence[SharedCause]
) -> str:
    if not shared:
        said = f"The record of the {len(having)} with '{fault}' shows nothing that goes with it."
    else:
        best = shared[0]
        said = (
            f"'{best.key}' is in the record of {len(best.with_fault)} of {len(having)} with '{fault}' and of "
            f"{len(best.without_fault)} of {len(clean)} tasted without it."
        )
    if min(len(having), len(clean)) < FEW:
        said += " So few batches may agree by chance."
    return said


def evidence_of(connection: Connection, house: House, row: Batch, at: datetime) -> TastingEvidence:
    """What the record has of a batch for a fault that was tasted at a time."""
    live = live_batch(row)
    pitched, packaged = pitched_at(row, at), packaged_at(connection, row, at)
    ends = packaged or at
    hours = beer_hours(connection, house, row, pitched or row.started_at, ends)
    bottles = [] if packaged is None else _bottles(connection, house, row, packaged, at)
    most_c, says = _most(row, pitched)
    kept = kept_estimates(connection, row.id)
    facts = kept[0].body.get("thermal") if kept else None
    readings = direct_readings(connection, row, ends, hours)
    end = _end(connection, row, readings, ends)
    last = next((r for r in reversed(readings) if r.by is not ReadingKind.LIMIT_JAR), None)
    into = packed(connection, row.id, at)
    cold = [s.entered_at for s in live.course.steps if stage_of(live.plan, s).kind is StageKind.CRASH]
    cold = [when for when in cold if pitched is not None and pitched <= when <= ends]
    return TastingEvidence(
        pitched_at=pitched,
        packaged_at=packaged,
        tasted_at=at,
        beer=_temps(hours),
        progress=() if not facts else tuple(facts["progress"]),
        most_c=most_c,
        most_says=says,
        cold_at=min(cold, default=None),
        bottles=_temps(bottles),
        warm_days=None if packaged is None else _warm_days(_temps(bottles), packaged, at),
        sugar_g_per_l=None if into is None or into.sugar_g is None else into.sugar_g / into.litres,
        steady=None if packaged is None else _steady(readings, hours, pitched, packaged),
        above_end_pt=None if last is None or end is None else 1000 * (last.sg - end.high),
        below_end_pt=None if last is None or end is None else 1000 * (end.low - last.sg),
        fell_pt=_fell(connection, row, at),
        butter_smelled_at=_butter(connection, row, ends),
        additions=tuple(
            LateAddition(e.at, str(e.body["what"])) for e in entries(connection, row.id, "additions")
        ),
        mixed_culture=bool((row.yeast or {}).get("mixed_culture")),
        kegged=into is not None and into.kegged,
    )


def _bottles(
    connection: Connection, house: House, row: Batch, packaged: datetime, at: datetime
) -> list[HourMean]:
    """The bottles' hours as far as they matter: while they carbonate, and the days before one is opened."""
    ends = packaged + CARBONATES
    if at - LAST_DAYS <= ends:
        return beer_hours(connection, house, row, packaged, at)
    first = beer_hours(connection, house, row, packaged, ends)
    return first + beer_hours(connection, house, row, at - LAST_DAYS, at)


def _temps(hours: Sequence[HourMean]) -> tuple[BeerTemp, ...]:
    """Each hour once: of a batch in two vessels, or with two probes, the mean."""
    by_hour: dict[datetime, list[float]] = {}
    for hour in hours:
        by_hour.setdefault(hour.at, []).append(hour.temp_c)
    return tuple(BeerTemp(at, sum(temps) / len(temps)) for at, temps in sorted(by_hour.items()))


def _most(row: Batch, pitched: datetime | None) -> tuple[float | None, str]:
    """What the beer should have stayed below in its first days, and who says so."""
    told = (row.yeast or {}).get("high_c")
    if told is not None:
        return float(told), "the warmest its yeast is said to like"
    if pitched is None:
        return None, ""
    live = live_batch(row)
    highs = [
        span.high_c
        for span in bands_between(live.plan, live.course, pitched, pitched + EARLY)
        if span.high_c is not None
    ]
    if highs:
        return max(highs), "the top of the plan's band"
    return USUAL_MOST_C, "common practice for ale yeast"


def _warm_days(bottles: Sequence[BeerTemp], packaged: datetime, at: datetime) -> float | None:
    """Days at 20 C since packaging; None where too many hours are missing to call them few."""
    hours = min(at - packaged, CARBONATES) / timedelta(hours=1)
    found = warm_days([h.temp_c for h in bottles])
    covered = hours < 1 or len(bottles) >= COVERED * hours
    return found if covered or found >= ENOUGH_WARM_DAYS else None


def _steady(
    readings: Sequence[DirectReading], hours: Sequence[HourMean], pitched: datetime | None, packaged: datetime
) -> bool:
    evidence = ReadinessEvidence(readings=tuple(readings), pitched_at=pitched, temps=_temps(hours))
    return all(check.met for check in readiness(evidence, packaged).checks if check.name in STEADY)


def _end(
    connection: Connection, row: Batch, readings: Sequence[DirectReading], until: datetime
) -> ExpectedEnd | None:
    yeast = row.yeast or {}
    added = [e for e in entries(connection, row.id, "additions") if e.at <= until]
    return expected_end(
        readings,
        og=row.og,
        expected_fg=row.expected_fg,
        attenuation_low=yeast.get("attenuation_low"),
        attenuation_high=yeast.get("attenuation_high"),
        change_pt=end_moved_by(row, added),
    )


def _fell(connection: Connection, row: Batch, at: datetime) -> float | None:
    """By how much at least an opened bottle surely fell; 0: it did not; None: none was measured."""
    compared = [
        said
        for entry in entries(connection, row.id, "openings")
        if entry.at <= at + timedelta(days=1)
        and (said := against_packaged(connection, row, correct_opening(entry.body), entry.at)) is not None
    ]
    if not compared:
        return None
    return max((said.fell_pt.low if said.fell else 0.0) for said in compared)


def _butter(connection: Connection, row: Batch, until: datetime) -> datetime | None:
    smells = [
        e
        for e in entries(connection, row.id, "sightings")
        if e.body["what"] in ("smells-of-butter", "smells-clean") and e.at <= until
    ]
    return smells[0].at if smells and smells[0].body["what"] == "smells-of-butter" else None


def _answer(at: datetime, found: Explanation) -> FaultAnswer:
    return FaultAnswer(
        fault=found.fault,
        tasted_at=at,
        likelihood=found.likelihood.value,
        sentence=found.sentence,
        causes=list(_causes(found)),
        unseen=found.unseen,
        source=found.source,
    )


def _causes(found: Explanation) -> Iterator[CauseAnswer]:
    for cause in found.causes:
        yield CauseAnswer(
            key=cause.key,
            likelihood=cause.likelihood.value,
            sentence=cause.sentence,
            hours=[HoursAnswer(from_=h.from_at, to=h.to_at) for h in cause.hours],
        )
