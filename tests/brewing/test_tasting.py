"""What a record could explain of a tasted fault, rule by rule. Limits are common practice, from memory."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.brewing.readiness_evidence import BeerTemp, LateAddition
from service.brewing.tasting import Explanation, Fault, Likelihood, TastingEvidence, runs
from service.brewing.tasting_causes import LOOKERS, explain

PITCHED = datetime(2026, 10, 1, 18, 0, tzinfo=UTC)
PACKAGED = PITCHED + timedelta(days=16)
TASTED = PACKAGED + timedelta(days=21)


def hours(since: datetime, until: datetime, temp: Callable[[float], float]) -> tuple[BeerTemp, ...]:
    count = int((until - since) / timedelta(hours=1))
    return tuple(BeerTemp(since + timedelta(hours=n), temp(n)) for n in range(count))


def share(hour: float) -> float:
    """A fermentation half way after 48 hours and over after five days."""
    return min(1.0, max(0.0, (hour - 12) / 96))


GOOD = TastingEvidence(
    pitched_at=PITCHED,
    packaged_at=PACKAGED,
    tasted_at=TASTED,
    beer=hours(PITCHED, PACKAGED, lambda n: 19.0 if n < 14 * 24 else 4.0),
    progress=tuple(share(n) for n in range(16 * 24)),
    most_c=21.0,
    most_says="the warmest its yeast is said to like",
    cold_at=PITCHED + timedelta(days=14),
    bottles=hours(PACKAGED, TASTED, lambda _: 17.5),
    warm_days=17.0,
    sugar_g_per_l=6.0,
    steady=True,
    above_end_pt=-1.0,
    below_end_pt=-4.0,
    fell_pt=0.0,
)
"""A batch that has nothing to explain."""


def keys(found: Explanation) -> set[str]:
    return {cause.key for cause in found.causes}


@pytest.mark.parametrize("fault", list(Fault))
def test_nothing_in_a_good_record_explains_a_fault(fault: Fault) -> None:
    found = explain(fault, GOOD)

    assert found.likelihood is Likelihood.NOTHING
    assert found.sentence == "Nothing in the record explains it."
    assert found.causes == ()
    assert found.unseen


def test_heat_in_the_hours_that_fermented_could_well_make_it_hot() -> None:
    warm = hours(PITCHED, PACKAGED, lambda n: 24.5 if 30 <= n < 60 else 19.0)

    found = explain(Fault.HOT, replace(GOOD, beer=warm))

    assert found.likelihood is Likelihood.COULD_WELL
    (cause,) = found.causes
    assert (cause.hours[0].from_at, cause.hours[0].to_at) == (
        PITCHED + timedelta(hours=30),
        PITCHED + timedelta(hours=60),
    )
    # it works evenly over 96 hours, of which 30 were too warm
    assert "for 30 hours, up to 24.5 C; about 31% of the fermentation" in cause.sentence
    assert found.sentence.endswith("That could well explain it.")


def test_the_same_heat_before_anything_ferments_only_might() -> None:
    warm = hours(PITCHED, PACKAGED, lambda n: 24.5 if n < 11 else 19.0)

    found = explain(Fault.HOT, replace(GOOD, beer=warm))

    assert found.likelihood is Likelihood.MIGHT
    assert "about 0% of the fermentation" in found.causes[0].sentence


def test_without_an_estimate_every_early_hour_counts_alike() -> None:
    warm = hours(PITCHED, PACKAGED, lambda n: 24.5 if n < 40 else 19.0)

    found = explain(Fault.HOT, replace(GOOD, beer=warm, progress=()))

    assert found.likelihood is Likelihood.COULD_WELL
    assert "of the fermentation" not in found.causes[0].sentence


def test_heat_after_the_third_day_is_not_blamed_for_hot() -> None:
    warm = hours(PITCHED, PACKAGED, lambda n: 24.5 if 80 <= n < 120 else 19.0)

    assert explain(Fault.HOT, replace(GOOD, beer=warm)).likelihood is Likelihood.NOTHING


def test_early_hours_that_were_not_measured_are_no_proof_of_innocence() -> None:
    late = tuple(h for h in GOOD.beer if h.at >= PITCHED + timedelta(hours=40))

    found = explain(Fault.HOT, replace(GOOD, beer=late))

    assert found.likelihood is Likelihood.UNKNOWN
    assert "only 32 were measured" in found.sentence


CASES: list[tuple[str, Fault, dict[str, object], str, Likelihood]] = [
    (
        "cold while a fifth was still to ferment",
        Fault.BUTTER,
        {"cold_at": PITCHED + timedelta(hours=80)},
        "cold-early",
        Likelihood.COULD_WELL,
    ),
    (
        "cold when a seventh was still to ferment",
        Fault.BUTTER,
        {"cold_at": PITCHED + timedelta(hours=95)},
        "cold-early",
        Likelihood.MIGHT,
    ),
    ("cold, and nothing steady", Fault.BUTTER, {"steady": False}, "cold-early", Likelihood.COULD_WELL),
    (
        "cold, and nothing tells how far it was",
        Fault.BUTTER,
        {"progress": (), "steady": None},
        "cold-early",
        Likelihood.UNKNOWN,
    ),
    (
        "no rest: cold ten hours after nine tenths",
        Fault.BUTTER,
        {"cold_at": PITCHED + timedelta(hours=109)},
        "no-warm-rest",
        Likelihood.COULD_WELL,
    ),
    (
        "a short rest",
        Fault.BUTTER,
        {"cold_at": PITCHED + timedelta(hours=130)},
        "no-warm-rest",
        Likelihood.MIGHT,
    ),
    (
        "the days before the cold not measured",
        Fault.BUTTER,
        {"beer": tuple(h for h in GOOD.beer if h.at < PITCHED + timedelta(hours=90))},
        "no-warm-rest",
        Likelihood.UNKNOWN,
    ),
    (
        "a fall within a day while it fermented",
        Fault.BUTTER,
        {"beer": hours(PITCHED, PACKAGED, lambda n: 20.0 if n < 40 else max(16.5, 20.0 - (n - 40) * 0.5))},
        "fell-asleep",
        Likelihood.MIGHT,
    ),
    (
        "smelled before",
        Fault.BUTTER,
        {"butter_smelled_at": PITCHED + timedelta(days=12)},
        "smelled-before",
        Likelihood.COULD_WELL,
    ),
    (
        "packaged after six days",
        Fault.GREEN_APPLE,
        {"packaged_at": PITCHED + timedelta(days=6), "cold_at": None},
        "packaged-young",
        Likelihood.COULD_WELL,
    ),
    (
        "packaged after nine days",
        Fault.GREEN_APPLE,
        {"packaged_at": PITCHED + timedelta(days=9), "cold_at": None},
        "packaged-young",
        Likelihood.MIGHT,
    ),
    ("opened young", Fault.GREEN_APPLE, {"warm_days": 5.0}, "drunk-young", Likelihood.MIGHT),
    ("sugar left", Fault.GREEN_APPLE, {"above_end_pt": 3.0}, "above-end", Likelihood.COULD_WELL),
    ("few warm days", Fault.FLAT, {"warm_days": 6.9}, "few-warm-days", Likelihood.COULD_WELL),
    ("some warm days", Fault.FLAT, {"warm_days": 13.9}, "few-warm-days", Likelihood.MIGHT),
    ("no probe with the bottles", Fault.FLAT, {"warm_days": None}, "few-warm-days", Likelihood.UNKNOWN),
    ("no sugar", Fault.FLAT, {"sugar_g_per_l": 0.0}, "little-sugar", Likelihood.COULD_WELL),
    ("little sugar", Fault.FLAT, {"sugar_g_per_l": 2.5}, "little-sugar", Likelihood.MIGHT),
    ("sugar not written down", Fault.FLAT, {"sugar_g_per_l": None}, "little-sugar", Likelihood.UNKNOWN),
    ("not steady", Fault.GUSHING, {"steady": False}, "not-steady", Likelihood.COULD_WELL),
    ("not packaged by the record", Fault.GUSHING, {"steady": None}, "not-steady", Likelihood.UNKNOWN),
    ("above the end", Fault.GUSHING, {"above_end_pt": 0.5}, "above-end", Likelihood.COULD_WELL),
    ("below the end", Fault.GUSHING, {"below_end_pt": 0.5}, "below-end", Likelihood.MIGHT),
    ("fell in the bottle", Fault.GUSHING, {"fell_pt": 1.5}, "fell-after", Likelihood.COULD_WELL),
    ("much sugar", Fault.GUSHING, {"sugar_g_per_l": 8.5}, "much-sugar", Likelihood.COULD_WELL),
    (
        "hops two days before",
        Fault.GUSHING,
        {"additions": (LateAddition(PACKAGED - timedelta(days=2), "Dry hops"),)},
        "late-addition",
        Likelihood.MIGHT,
    ),
    ("a mixed culture", Fault.GUSHING, {"mixed_culture": True}, "mixed-culture", Likelihood.MIGHT),
    (
        "opened warm",
        Fault.GUSHING,
        {"bottles": hours(PACKAGED, TASTED, lambda _: 22.0)},
        "opened-warm",
        Likelihood.MIGHT,
    ),
]


@pytest.mark.parametrize(("what", "fault", "changes", "key", "likelihood"), CASES, ids=[c[0] for c in CASES])
def test_each_cause_is_found_with_its_likelihood(
    what: str, fault: Fault, changes: dict[str, object], key: str, likelihood: Likelihood
) -> None:
    found = explain(fault, replace(GOOD, **changes))  # type: ignore[arg-type]

    assert {cause.key: cause.likelihood for cause in found.causes}[key] is likelihood, what


@pytest.mark.parametrize(
    ("what", "fault", "changes"),
    [
        (
            "hops four days before",
            Fault.GUSHING,
            {"additions": (LateAddition(PACKAGED - timedelta(days=4), "Hops"),)},
        ),
        (
            "finings that restart nothing",
            Fault.GUSHING,
            {"additions": (LateAddition(PACKAGED - timedelta(days=1), "Finings", restarts=False),)},
        ),
        ("a keg is not primed", Fault.FLAT, {"kegged": True, "sugar_g_per_l": 0.0, "warm_days": 0.0}),
        ("a keg is drunk young", Fault.GREEN_APPLE, {"kegged": True, "warm_days": 0.0}),
    ],
)
def test_what_is_usual_is_not_blamed(what: str, fault: Fault, changes: dict[str, object]) -> None:
    found = explain(fault, replace(GOOD, **changes))  # type: ignore[arg-type]

    assert found.likelihood is Likelihood.NOTHING, (what, keys(found))


def test_the_likeliest_cause_comes_first_and_the_others_are_counted() -> None:
    found = explain(Fault.GUSHING, replace(GOOD, below_end_pt=1.0, mixed_culture=True, steady=False))

    assert [c.likelihood for c in found.causes] == [
        Likelihood.COULD_WELL,
        Likelihood.MIGHT,
        Likelihood.MIGHT,
    ]
    assert found.sentence.endswith("That could well explain it. 2 more in the record go with it.")


@settings(max_examples=60, deadline=None)
@given(
    fault=st.sampled_from(list(Fault)),
    warm=st.none() | st.floats(0, 60),
    sugar=st.none() | st.floats(0, 30),
    steady=st.none() | st.booleans(),
    off_pt=st.none() | st.floats(-20, 20),
    days=st.integers(0, 60),
    temp=st.floats(-2, 40),
    pitched=st.booleans(),
)
def test_whatever_is_known_there_is_an_answer_with_its_word(
    fault: Fault,
    warm: float | None,
    sugar: float | None,
    steady: bool | None,
    off_pt: float | None,
    days: int,
    temp: float,
    pitched: bool,
) -> None:
    packaged = PITCHED + timedelta(days=days)
    found = explain(
        fault,
        TastingEvidence(
            pitched_at=PITCHED if pitched else None,
            packaged_at=packaged,
            tasted_at=packaged + timedelta(days=1),
            beer=hours(PITCHED, packaged, lambda _: temp),
            most_c=21.0,
            warm_days=warm,
            sugar_g_per_l=sugar,
            steady=steady,
            above_end_pt=off_pt,
            below_end_pt=off_pt,
            fell_pt=off_pt,
        ),
    )

    assert found.sentence.endswith(".")
    assert all(cause.sentence.endswith(".") for cause in found.causes)
    assert found.likelihood is (found.causes[0].likelihood if found.causes else Likelihood.NOTHING)


def test_every_fault_has_rules() -> None:
    assert set(LOOKERS) == set(Fault)


def test_hours_are_joined_where_they_touch() -> None:
    apart = [BeerTemp(PITCHED + timedelta(hours=n), 20.0) for n in (5, 0, 1, 2)]

    found = runs(apart)

    assert [(r.from_at - PITCHED) / timedelta(hours=1) for r in found] == [0, 5]
    assert [(r.to_at - PITCHED) / timedelta(hours=1) for r in found] == [3, 6]
