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


def evidence_of(answer: Readiness, name: CheckName) -> str:
    return next(check.evidence for check in answer.checks if check.name is name)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({}, "49 h of 48 h."),
        ({"og": 1.070}, "of 72 h (strong)"),
        ({"temps": held(17.0), "yeast_low_c": 15.0}, "of 72 h (cold)"),
        ({"mixed_culture": True}, "of 720 h (mixed culture)"),
    ],
)
def test_the_hours_asked_for_say_why(changed: dict[str, Any], words: str) -> None:
    readings = (taken(49.5, 1.010), taken(0.5, 1.010))

    assert words in evidence_of(judged(**changed, readings=readings), CheckName.READINGS_FAR_ENOUGH_APART)


def test_the_hours_asked_for_are_told_before_there_are_readings() -> None:
    warm = judged(readings=())
    strong = judged(readings=(), og=1.070)

    assert "48 h apart" in evidence_of(warm, CheckName.READINGS_FAR_ENOUGH_APART)
    assert "72 h apart are needed (strong)" in evidence_of(strong, CheckName.READINGS_FAR_ENOUGH_APART)


@pytest.mark.parametrize(("sg_before", "steady"), [(1.0105, True), (1.0110, False)])
def test_points_that_may_still_come_are_held_to_1_7(sg_before: float, steady: bool) -> None:
    # 48.5 h apart at 20 C: a fall of 0.5 point allows 1.6 points to come, one of 1 point 1.9.
    answer = judged(readings=(taken(49, sg_before), taken(0.5, 1.010)))

    assert ("readings-steady" not in unmet(answer)) == steady


@pytest.mark.parametrize(("sg", "ready"), [(1.0119, True), (1.0121, False), (1.0071, True), (1.0069, False)])
def test_the_told_end_holds_from_3_points_below_to_2_above(sg: float, ready: bool) -> None:
    assert judged(readings=(taken(49, sg), taken(0.5, sg))).ready == ready


@pytest.mark.parametrize(("sg", "ready"), [(1.0159, True), (1.0161, False), (1.0121, True), (1.0119, False)])
def test_a_limit_jar_holds_for_two_points_either_way(sg: float, ready: bool) -> None:
    jar = taken(100, 1.014, ReadingKind.LIMIT_JAR)

    assert judged(readings=(jar, taken(49, sg), taken(0.5, sg))).ready == ready


@pytest.mark.parametrize(("sg", "ready"), [(1.0135, True), (1.0137, False), (1.0081, True), (1.0079, False)])
def test_the_yeasts_range_holds_with_a_point_either_way(sg: float, ready: bool) -> None:
    # 1.045 with 72 to 80 % attenuation ends between 1.0090 and 1.0126.
    told = {"expected_fg": None, "attenuation_low": 0.72, "attenuation_high": 0.80}

    assert judged(**told, readings=(taken(49, sg), taken(0.5, sg))).ready == ready


def test_additions_move_the_expected_end() -> None:
    lactose = (taken(49, 1.014), taken(0.5, 1.014))

    assert judged(readings=lactose, fg_change_pt=4.0).ready
    yeast = {"expected_fg": None, "attenuation_low": 0.72, "attenuation_high": 0.80}
    assert judged(**yeast, readings=(taken(49, 1.017), taken(0.5, 1.017)), fg_change_pt=4.0).ready


def test_the_newest_limit_jar_counts() -> None:
    jars = (taken(200, 1.020, ReadingKind.LIMIT_JAR), taken(100, 1.010, ReadingKind.LIMIT_JAR))

    assert judged(expected_fg=1.020, readings=(*jars, *FINISHED.readings)).ready


def test_a_low_beer_that_still_falls_slowly_is_not_let_go_after_three_weeks() -> None:
    later = PITCHED + timedelta(days=40)
    readings = tuple(
        DirectReading(later - timedelta(days=23 - 2 * n), ReadingKind.HYDROMETER, sg, sg - 0.001, sg + 0.001)
        for n, sg in enumerate(
            [1.006, 1.0045, 1.003, 1.0015, 1.0, 0.9985, 0.997, 0.9955, 0.994, 0.9925, 0.991, 0.9895]
        )
    )
    falling = replace(FINISHED, readings=readings, temps=held(16.5, days=40))

    answer = readiness(falling, later)

    assert {"readings-steady", "not-below-expected"} <= unmet(answer)


def test_a_low_beer_watched_for_20_days_waits_on() -> None:
    later = NOW + timedelta(days=19)
    readings = (taken(24, 1.004), DirectReading(later, ReadingKind.HYDROMETER, 1.004, 1.003, 1.005))

    answer = readiness(replace(FINISHED, readings=readings, temps=held(20.0, days=35)), later)

    assert unmet(answer) == {"not-below-expected"}


def test_the_wait_after_an_addition_is_three_days() -> None:
    at_71, at_73 = (judged(additions=(LateAddition(NOW - timedelta(hours=h), "sugar"),)) for h in (71, 73))

    assert "no-late-addition" in unmet(at_71)
    assert at_71.next.at == NOW + timedelta(hours=1)
    assert "no-late-addition" not in unmet(at_73)


def test_a_lager_rests_from_14_c() -> None:
    lager = {"yeast_low_c": 8.0, "smells_of_butter": None}

    rested = judged(**lager, temps=held(14.5))
    too_cool = judged(**lager, temps=held(13.5))

    assert "rested-warm" not in unmet(rested)
    assert "rested-warm" in unmet(too_cool)


def test_47_warm_hours_are_no_rest() -> None:
    def warm_for(hours: int) -> Readiness:
        temps = tuple(
            BeerTemp(PITCHED + timedelta(hours=h), 18.5 if 72 <= h < 72 + hours else 17.5)
            for h in range(24 * 12 + 1)
        )
        return judged(smells_of_butter=None, temps=temps)

    assert "rested-warm" in unmet(warm_for(47))
    assert "rested-warm" not in unmet(warm_for(48))


def test_a_rest_cannot_be_known_without_temperatures_or_pitching() -> None:
    assert "rested-warm" in unmet(judged(smells_of_butter=None, temps=()))
    assert "rested-warm" in unmet(judged(smells_of_butter=None, pitched_at=None))


def test_a_beer_of_unknown_temperature_is_taken_to_be_cold() -> None:
    answer = judged(temps=())

    assert "(cold)" in evidence_of(answer, CheckName.READINGS_FAR_ENOUGH_APART)
    assert answer.next.at == PITCHED + timedelta(days=14)


def test_between_cold_and_warm_the_share_of_warm_hours_decides() -> None:
    def warm_share(share: float) -> Readiness:
        begins = NOW - timedelta(hours=49)
        temps = tuple(
            BeerTemp(begins + timedelta(hours=h), 20.0 if h < 48 * share or h == 48 else 14.0)
            for h in range(50)
        )
        return judged(temps=temps)

    assert "warm-enough-to-tell" in unmet(warm_share(0.70))
    assert "warm-enough-to-tell" not in unmet(warm_share(0.90))


def test_the_heat_is_quoted_with_its_reason() -> None:
    over = judged(verdict="ended", verdict_because="quiet for two days")
    working = judged(verdict="working", verdict_because="0.4 W")
    unknown = judged(verdict=None)

    assert "ended (quiet for two days)" in evidence_of(over, CheckName.ESTIMATE_AGREES)
    assert "still ferments (0.4 W)" in evidence_of(working, CheckName.ESTIMATE_AGREES)
    assert "cannot tell" in evidence_of(unknown, CheckName.ESTIMATE_AGREES)
    assert "by its heat" in working.next.do
    assert working.next.at == NOW + timedelta(days=1)


@pytest.mark.parametrize(
    ("changed", "words", "wait_h"),
    [
        ({"readings": ()}, "Take a hydrometer reading", 0),
        ({"readings": (taken(1, 1.009, ReadingKind.REFRACTOMETER),)}, "only it proves", 0),
        ({"readings": (taken(40, 1.010), taken(1, 1.010))}, "another hydrometer reading", 8),
        ({"readings": (taken(60, 1.020), taken(1, 1.012))}, "another hydrometer reading", 47),
        ({"expected_fg": None}, "limit jar", 0),
    ],
)
def test_the_next_step_is_what_stands_in_the_way(changed: dict[str, Any], words: str, wait_h: float) -> None:
    answer = judged(**changed)

    assert words in answer.next.do
    assert answer.next.at == NOW + timedelta(hours=wait_h)


def test_a_strong_beer_is_told_to_take_its_time() -> None:
    assert any("strong beer" in caution for caution in judged(og=1.070).cautions)
    assert not any("strong beer" in caution for caution in judged().cautions)
    assert not any("for weeks" in caution for caution in judged(readings=()).cautions)


def test_the_rate_between_two_readings_is_what_its_errors_allow() -> None:
    # 0.7 point of error each: 90 % interval of the difference 1.645 x 0.99 points.
    run = steadiness((taken(24, 1.012), taken(0, 1.010)), 20.0)

    assert run is not None
    assert run.rate_low == pytest.approx(2 - 1.628, abs=0.005)
    assert run.rate_high == pytest.approx(2 + 1.628, abs=0.005)
    assert run.points_to_come == pytest.approx(run.rate_high * 1.48)


def test_two_readings_at_one_moment_are_no_run() -> None:
    assert steadiness((taken(5, 1.012), taken(5, 1.010)), 20.0) is None


def test_before_there_are_readings_the_last_days_say_whether_it_is_cold() -> None:
    def turned(first_c: float, last_c: float) -> Readiness:
        temps = tuple(
            BeerTemp(PITCHED + timedelta(hours=h), first_c if h < 24 * 8 else last_c)
            for h in range(24 * 12 + 1)
        )
        return judged(readings=(), temps=temps)

    assert "48 h" in evidence_of(turned(12.0, 20.0), CheckName.READINGS_FAR_ENOUGH_APART)
    assert "72 h" in evidence_of(turned(20.0, 12.0), CheckName.READINGS_FAR_ENOUGH_APART)
