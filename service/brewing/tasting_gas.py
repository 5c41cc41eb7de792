"""Rules behind a fault of gas: what in the record goes with flat and gushing bottles.

Every limit here is common practice, from memory. A rule that lacks what it needs says so instead of passing
the batch as innocent.
"""

from collections.abc import Sequence
from datetime import timedelta

from service.brewing.readiness_evidence import BeerTemp
from service.brewing.tasting import Cause, Likelihood, Stretch, TastingEvidence, runs, unknown

WARM_DAYS = (7.0, 14.0)
"""Days at 20 C in the bottle: one to three weeks are usual."""
LITTLE_SUGAR_G_PER_L = 3.0
MUCH_SUGAR_G_PER_L = 8.0
"""About 3.8 g of sucrose a litre give one volume, on about one held already."""
OPENED_WARM_C = 18.0
LATE = timedelta(days=3)


def not_steady(e: TastingEvidence) -> Cause | None:
    """Packaged while no readings showed that the fermentation was over."""
    if e.steady is None:
        return unknown("not-steady", "it was not packaged yet, or there is no time of it.")
    if e.steady:
        return None
    return Cause(
        "not-steady",
        Likelihood.COULD_WELL,
        "When it was packaged, no readings showed that the gravity had stood still.",
    )


def above_end(e: TastingEvidence) -> Cause | None:
    """The last reading lay above where this beer should end."""
    if e.above_end_pt is None or e.above_end_pt <= 0:
        return None
    return Cause(
        "above-end",
        Likelihood.COULD_WELL,
        f"Its last reading lay {e.above_end_pt:.1f} points above the expected end: sugar was left.",
    )


def fell_after(e: TastingEvidence) -> Cause | None:
    """The gravity of an opened bottle lies below what went in."""
    if e.fell_pt is None or e.fell_pt <= 0:
        return None
    return Cause(
        "fell-after",
        Likelihood.COULD_WELL,
        f"An opened bottle was at least {e.fell_pt:.1f} points lower than the beer that went in: more than "
        "the sugar fermented. Unfinished beer does that, and so does something that came in with a dirty "
        "bottle or tube.",
    )


def below_end(e: TastingEvidence) -> Cause | None:
    """The last reading lay below where this beer should end."""
    if e.below_end_pt is None or e.below_end_pt <= 0:
        return None
    return Cause(
        "below-end",
        Likelihood.MIGHT,
        f"Its last reading lay {e.below_end_pt:.1f} points below the expected end, as when a wild yeast eats "
        "what brewer's yeast leaves.",
    )


def much_sugar(e: TastingEvidence) -> Cause | None:
    """Much priming sugar."""
    if e.sugar_g_per_l is None or e.sugar_g_per_l <= MUCH_SUGAR_G_PER_L:
        return None
    return Cause("much-sugar", Likelihood.COULD_WELL, f"It was primed with {e.sugar_g_per_l:.1f} g a litre.")


def late_addition(e: TastingEvidence) -> Cause | None:
    """Something that can start the fermentation again, put in shortly before packaging."""
    if e.packaged_at is None:
        return None
    late = [a for a in e.additions if a.restarts and e.packaged_at - LATE <= a.at <= e.packaged_at]
    if not late:
        return None
    last = max(late, key=lambda a: a.at)
    return Cause(
        "late-addition",
        Likelihood.MIGHT,
        f"{last.what} went in less than three days before it was packaged; sugar and hops let it ferment on.",
        (Stretch(last.at, e.packaged_at),),
    )


def mixed_culture(e: TastingEvidence) -> Cause | None:
    """A mixed culture ferments on for months."""
    if not e.mixed_culture:
        return None
    return Cause("mixed-culture", Likelihood.MIGHT, "Its culture is mixed and goes on for months.")


def opened_warm(e: TastingEvidence) -> Cause | None:
    """The bottles stood warm on the day before they were opened."""
    if e.tasted_at is None:
        return None
    before = [h for h in e.bottles if e.tasted_at - timedelta(days=1) <= h.at < e.tasted_at]
    warm = [h for h in before if h.temp_c > OPENED_WARM_C]
    if not warm or len(warm) < len(before):
        return None
    return Cause(
        "opened-warm",
        Likelihood.MIGHT,
        f"The bottles stood at {_mean(warm):.1f} C on the day before: warm beer holds its gas badly.",
        runs(warm),
    )


def few_warm_days(e: TastingEvidence) -> Cause | None:
    """Bottles that stood cold, or for few days."""
    if e.kegged:
        return None
    if e.warm_days is None:
        return unknown("few-warm-days", "no probe was with the bottles.")
    surely, perhaps = WARM_DAYS
    if e.warm_days >= perhaps:
        return None
    mean = f", at {_mean(e.bottles):.1f} C on average" if e.bottles else ""
    return Cause(
        "few-warm-days",
        Likelihood.COULD_WELL if e.warm_days < surely else Likelihood.MIGHT,
        f"The bottles have had the worth of {e.warm_days:.1f} days at 20 C{mean}; two weeks are usual.",
        runs(e.bottles),
    )


def little_sugar(e: TastingEvidence) -> Cause | None:
    """Little or no priming sugar."""
    if e.kegged:
        return None
    if e.sugar_g_per_l is None:
        return unknown("little-sugar", "it is not written down how much sugar went in.")
    if e.sugar_g_per_l >= LITTLE_SUGAR_G_PER_L:
        return None
    surely = e.sugar_g_per_l < 1.0
    said = "without sugar" if e.sugar_g_per_l == 0 else f"with {e.sugar_g_per_l:.1f} g of sugar a litre"
    return Cause(
        "little-sugar", Likelihood.COULD_WELL if surely else Likelihood.MIGHT, f"It was packaged {said}."
    )


def _mean(hours: Sequence[BeerTemp]) -> float:
    return sum(h.temp_c for h in hours) / len(hours)
