"""What proves that a beer may be packaged, and what does not."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.brewing.readiness import readiness
from service.brewing.readiness_evidence import (
    BeerTemp,
    CheckName,
    LateAddition,
    Readiness,
    ReadinessEvidence,
)
from service.brewing.readings import ReadingKind
from service.brewing.steadiness import DirectReading, days_that_matter, steadiness
from service.errors import InvalidInputError

PITCHED = datetime(2026, 3, 1, 18, 0, tzinfo=UTC)
NOW = PITCHED + timedelta(days=12)


def taken(hours_ago: float, sg: float, by: ReadingKind = ReadingKind.HYDROMETER) -> DirectReading:
    return DirectReading(NOW - timedelta(hours=hours_ago), by, sg, sg - 0.00115, sg + 0.00115)


def held(temp_c: float, *, days: int = 12) -> tuple[BeerTemp, ...]:
    return tuple(BeerTemp(PITCHED + timedelta(hours=h), temp_c) for h in range(24 * days + 1))


FINISHED = ReadinessEvidence(
    readings=(taken(49, 1.010), taken(0.5, 1.010)),
    pitched_at=PITCHED,
    og=1.045,
    expected_fg=1.010,
    temps=held(20.0),
    verdict="finished",
    smells_of_butter=False,
)


def unmet(answer: Readiness) -> set[str]:
    return {str(check.name) for check in answer.checks if not check.met}


def judged(**changed: Any) -> Readiness:
    return readiness(replace(FINISHED, **changed), NOW)


def test_a_finished_beer_is_ready() -> None:
    answer = judged()

    assert unmet(answer) == set()
    assert answer.ready
    assert answer.next.at == NOW


def test_every_check_is_listed_once_with_its_evidence() -> None:
    answer = judged(readings=())

    assert [check.name for check in answer.checks] == list(CheckName)
    assert all(check.evidence for check in answer.checks)


def test_heat_alone_never_opens_the_bottling() -> None:
    answer = judged(readings=(), verdict="finished", verdict_because="no heat for four days")

    assert not answer.ready
    assert {"readings-steady", "readings-far-enough-apart", "not-above-expected"} <= unmet(answer)
    assert "hydrometer reading" in answer.next.do


def test_two_equal_readings_a_day_apart_prove_little() -> None:
    answer = judged(readings=(taken(24.5, 1.010), taken(0.5, 1.010)))

    assert {"readings-steady", "readings-far-enough-apart"} <= unmet(answer)
    steady = next(c for c in answer.checks if c.name is CheckName.READINGS_STEADY)
    # 0.7 point of error in each reading still allows 1.6 points a day.
    assert "1.6 points a day" in steady.evidence
    assert answer.next.at == NOW - timedelta(hours=0.5) + timedelta(hours=48)


def test_a_beer_that_still_falls_is_not_steady_however_far_apart_the_readings() -> None:
    answer = judged(readings=(taken(72.5, 1.014), taken(0.5, 1.010)))

    assert unmet(answer) == {"readings-steady"}


def test_one_reading_is_never_enough() -> None:
    answer = judged(readings=(taken(0.5, 1.010),))

    assert "readings-steady" in unmet(answer)
    assert answer.next.at == NOW + timedelta(hours=47.5)


def test_47_hours_are_not_48() -> None:
    answer = judged(readings=(taken(47.5, 1.010), taken(0.5, 1.010)))

    assert "readings-far-enough-apart" in unmet(answer)


@pytest.mark.parametrize("changed", [{"og": 1.070}, {"temps": held(17.5), "yeast_low_c": 16.0}])
def test_strong_or_cold_beer_wants_72_hours_and_two_weeks(changed: dict[str, Any]) -> None:
    answer = judged(**changed)

    assert {"readings-far-enough-apart", "days-since-pitching"} <= unmet(answer)

    longer = {"temps": held(changed["temps"][0].temp_c if "temps" in changed else 20.0, days=16)}
    readings = (taken(49, 1.010), taken(-48, 1.010))
    patient = replace(FINISHED, **(changed | longer), readings=readings)
    assert readiness(patient, NOW + timedelta(days=3)).ready


def test_a_steady_pair_does_not_hide_a_fall_in_the_newest_readings() -> None:
    days = (11, 10, 9, 4, 2, 0.1)
    stood = tuple(taken(24 * day, 1.0122) for day in days[:3])
    fell = (taken(24 * 4, 1.0122), taken(24 * 2, 1.0105), taken(2.4, 1.009))

    answer = judged(readings=(*stood, *fell))

    assert "readings-steady" in unmet(answer)


def test_a_limit_jar_is_no_reading_of_the_beer() -> None:
    jar = ReadingKind.LIMIT_JAR

    answer = judged(readings=(taken(49, 1.010, jar), taken(0.5, 1.010, jar)))

    assert "readings-steady" in unmet(answer)


def test_refractometer_readings_prove_steadiness_and_one_hydrometer_reading_the_value() -> None:
    refractometer = ReadingKind.REFRACTOMETER
    steady = (taken(96, 1.009, refractometer), taken(24, 1.009, refractometer))

    without = judged(readings=steady)
    with_one = judged(readings=(*steady, taken(0.5, 1.010)))

    assert unmet(without) == {"not-above-expected", "not-below-expected"}
    assert "hydrometer" in without.next.do
    assert with_one.ready


def test_an_old_hydrometer_reading_does_not_prove_the_value() -> None:
    refractometer = ReadingKind.REFRACTOMETER

    answer = judged(
        readings=(taken(240, 1.010), taken(96, 1.009, refractometer), taken(24, 1.009, refractometer))
    )

    assert "not-above-expected" in unmet(answer)


def test_a_kind_that_surely_falls_contradicts_one_that_stands() -> None:
    refractometer = ReadingKind.REFRACTOMETER
    falling = tuple(taken(96 - 24 * n, 1.016 - 0.002 * n, refractometer) for n in range(4))

    answer = judged(readings=(*FINISHED.readings, *falling))

    assert "readings-steady" in unmet(answer)
    steady = next(c for c in answer.checks if c.name is CheckName.READINGS_STEADY)
    assert "refractometer" in steady.evidence


def test_above_the_expected_end_is_not_ready() -> None:
    answer = judged(readings=(taken(49, 1.014), taken(0.5, 1.014)))

    assert unmet(answer) == {"not-above-expected"}
    assert "swirl" in answer.next.do
    assert answer.next.at == NOW + timedelta(days=3)


def test_below_the_expected_end_is_not_ready_either() -> None:
    answer = judged(readings=(taken(49, 1.004), taken(0.5, 1.004)))

    assert unmet(answer) == {"not-below-expected"}
    assert answer.next.at == NOW + timedelta(days=14)
    assert any("for weeks" in caution for caution in answer.cautions)


def test_a_low_beer_that_stands_for_three_weeks_may_go() -> None:
    later = PITCHED + timedelta(days=40)
    patient = replace(
        FINISHED,
        readings=(taken(49, 1.004), DirectReading(later, ReadingKind.HYDROMETER, 1.004, 1.003, 1.005)),
        temps=held(20.0, days=40),
    )

    assert readiness(patient, later).ready


def test_a_limit_jar_says_best_where_the_beer_ends() -> None:
    jar = taken(100, 1.014, ReadingKind.LIMIT_JAR)

    stands_with_jar = judged(readings=(jar, taken(49, 1.0145), taken(0.5, 1.0145)))
    stands_above = judged(readings=(jar, taken(49, 1.017), taken(0.5, 1.017)))

    assert stands_with_jar.ready
    assert unmet(stands_above) == {"not-above-expected"}


def test_the_yeasts_attenuation_serves_where_no_end_was_told() -> None:
    told = {"expected_fg": None, "attenuation_low": 0.72, "attenuation_high": 0.80}

    assert judged(**told).ready
    high = (taken(49, 1.016), taken(0.5, 1.016))
    assert unmet(judged(**told, readings=high)) == {"not-above-expected"}


def test_a_beer_whose_end_nobody_knows_is_not_ready() -> None:
    answer = judged(expected_fg=None)

    assert unmet(answer) == {"not-above-expected", "not-below-expected"}
    assert "limit jar" in answer.next.do


@pytest.mark.parametrize(
    "verdict", ["working", "slowing", "not-started", "possibly-stopped", "stopped-early"]
)
def test_heat_that_says_otherwise_holds_it_back(verdict: str) -> None:
    answer = judged(verdict=verdict)

    assert unmet(answer) == {"estimate-agrees"}


@pytest.mark.parametrize("verdict", ["ended", "finished", "unknown", "disturbed", "waiting", None])
def test_heat_that_cannot_tell_leaves_it_to_the_readings(verdict: str | None) -> None:
    assert judged(verdict=verdict).ready


def test_readings_taken_in_the_cold_prove_nothing() -> None:
    answer = judged(temps=held(5.0))

    assert "warm-enough-to-tell" in unmet(answer)
    assert "18 to 20 C" in answer.next.do


def test_a_lager_yeast_at_its_own_temperature_is_warm_enough() -> None:
    patient = replace(
        FINISHED,
        temps=held(10.0, days=40),
        yeast_low_c=8.0,
        readings=(taken(0, 1.010), taken(-24 * 7, 1.010)),
    )

    assert readiness(patient, NOW + timedelta(days=8)).ready


def test_a_third_reading_in_the_crash_does_not_undo_two_warm_ones() -> None:
    temps = tuple(
        BeerTemp(PITCHED + timedelta(hours=h), 20.0 if h < 24 * 9 else 3.0) for h in range(24 * 12 + 1)
    )
    warm = (taken(24 * 6, 1.010), taken(24 * 4, 1.010))

    same = judged(temps=temps, readings=(*warm, taken(0.5, 1.010)))
    lower = judged(temps=temps, readings=(*warm, taken(0.5, 1.0075)))

    assert same.ready
    assert unmet(lower) == {"readings-steady"}


def test_without_any_temperature_it_cannot_be_told() -> None:
    assert "warm-enough-to-tell" in unmet(judged(temps=()))


def test_butter_on_the_nose_asks_for_warm_days() -> None:
    answer = judged(smells_of_butter=True)

    assert unmet(answer) == {"rested-warm"}
    assert answer.next.at == NOW + timedelta(hours=48)


def test_two_warm_days_late_count_as_a_rest_but_the_smell_is_asked_for() -> None:
    answer = judged(smells_of_butter=None)

    assert answer.ready
    assert any("smell" in caution for caution in answer.cautions)
    assert unmet(judged(smells_of_butter=None, temps=held(17.0), yeast_low_c=15.0)) >= {"rested-warm"}


def test_warmth_in_the_first_three_days_is_no_rest() -> None:
    temps = tuple(
        BeerTemp(PITCHED + timedelta(hours=h), 22.0 if h <= 70 else 17.9) for h in range(24 * 12 + 1)
    )

    assert "rested-warm" in unmet(judged(smells_of_butter=None, temps=temps))


def test_six_days_are_too_few() -> None:
    early = replace(FINISHED, pitched_at=NOW - timedelta(days=6))

    answer = readiness(early, NOW)

    assert unmet(answer) == {"days-since-pitching"}
    assert answer.next.at == NOW + timedelta(days=1)


def test_an_unknown_pitching_time_is_asked_for() -> None:
    answer = judged(pitched_at=None)

    assert "days-since-pitching" in unmet(answer)
    assert "pitched" in answer.next.do


def test_an_addition_starts_the_waiting_anew() -> None:
    added = LateAddition(NOW - timedelta(hours=30), "raspberries")

    answer = judged(additions=(added,))

    assert {"no-late-addition", "readings-steady"} <= unmet(answer)
    assert answer.next.at == added.at + timedelta(hours=72)
    assert "raspberries" in answer.next.do


def test_readings_from_before_an_addition_do_not_count_after_the_wait_either() -> None:
    answer = judged(
        additions=(LateAddition(NOW - timedelta(hours=80), "dry hops"),),
        readings=(taken(90, 1.010), taken(85, 1.010)),
    )

    assert "no-late-addition" not in unmet(answer)
    assert "readings-steady" in unmet(answer)
    assert any("Dry hops" in caution for caution in answer.cautions)


def test_two_readings_after_the_addition_settle_it() -> None:
    assert judged(additions=(LateAddition(NOW - timedelta(hours=80), "dry hops"),)).ready


def test_finings_do_not_restart_anything() -> None:
    assert judged(additions=(LateAddition(NOW - timedelta(hours=5), "finings", restarts=False),)).ready


def test_a_mixed_culture_takes_months_and_is_told_so() -> None:
    answer = judged(mixed_culture=True)

    assert {"readings-far-enough-apart", "days-since-pitching"} <= unmet(answer)
    assert answer.next.at == PITCHED + timedelta(days=90)
    assert any("months" in caution for caution in answer.cautions)


def test_what_came_later_is_not_known_yet() -> None:
    answer = readiness(FINISHED, NOW - timedelta(hours=10))

    assert "readings-steady" in unmet(answer)


def test_a_naive_time_is_refused() -> None:
    with pytest.raises(InvalidInputError, match="offset"):
        readiness(FINISHED, NOW.replace(tzinfo=None))


def test_three_daily_readings_prove_as_much_as_two_over_the_same_days() -> None:
    pair = steadiness((taken(48, 1.010), taken(0, 1.010)), 20.0)
    daily = steadiness((taken(48, 1.010), taken(24, 1.010), taken(0, 1.010)), 20.0)

    assert pair is not None
    assert daily is not None
    assert daily.rate_high == pytest.approx(pair.rate_high)


def test_a_rise_is_taken_as_no_fall() -> None:
    rising = steadiness((taken(48, 1.008), taken(0, 1.010)), 20.0)
    level = steadiness((taken(48, 1.010), taken(0, 1.010)), 20.0)

    assert rising is not None
    assert level is not None
    assert rising.rate_high == level.rate_high


@settings(max_examples=60, deadline=None)
@given(temp_c=st.floats(5, 29), warmer=st.floats(0.01, 1))
def test_warm_beer_dies_away_sooner(temp_c: float, warmer: float) -> None:
    assert days_that_matter(temp_c + warmer) <= days_that_matter(temp_c)


@settings(max_examples=100, deadline=None)
@given(
    hours=st.lists(st.floats(0, 200), min_size=0, max_size=5),
    points=st.lists(st.floats(2, 40), min_size=5, max_size=5),
    kinds=st.lists(st.sampled_from(list(ReadingKind)), min_size=5, max_size=5),
    verdict=st.sampled_from(["ended", "working", "unknown", None]),
    temp_c=st.floats(2, 26),
)
def test_ready_always_means_two_direct_readings_two_days_apart(
    hours: list[float], points: list[float], kinds: list[ReadingKind], verdict: str | None, temp_c: float
) -> None:
    readings = tuple(
        taken(hour, 1 + point / 1000, kind) for hour, point, kind in zip(hours, points, kinds, strict=False)
    )

    answer = judged(readings=readings, verdict=verdict, temps=held(temp_c))

    assert answer.ready == all(check.met for check in answer.checks)
    if answer.ready:
        direct = [r for r in readings if r.by is not ReadingKind.LIMIT_JAR]
        assert len(direct) >= 2
        assert max(r.at for r in direct) - min(r.at for r in direct) >= timedelta(hours=48)
    assert answer.next.at >= NOW
