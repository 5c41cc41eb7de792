"""A whole estimate on batches whose truth is known, and on every kind of bad input."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from service.thermal.estimate import estimate
from service.thermal.inputs import Addition, GravityReading, ReadBy, Sighting, Span, Switch, Trace, YeastRange
from service.thermal.results import Estimate, Verdict
from tests.thermal.build import PITCHED, Made, batch, known


@pytest.fixture(scope="module")
def plain() -> Made:
    return batch()


@pytest.fixture(scope="module")
def still() -> Made:
    return batch(works=False, hours=120)


@pytest.fixture(scope="module")
def ended(plain: Made) -> Estimate:
    return estimate(known(plain, 168))


def error_pt(answer: Estimate, made: Made, hour: int) -> float:
    assert answer.gravity is not None
    return 1000 * (answer.gravity.value - made.sg[hour - 1])


def test_it_sees_gravity_in_the_middle_of_a_fermentation(plain: Made) -> None:
    answer = estimate(known(plain, 48))

    assert answer.verdict in (Verdict.WORKING, Verdict.SLOWING)
    assert abs(error_pt(answer, plain, 48)) < 4
    assert answer.gravity is not None
    assert answer.gravity.low < plain.sg[47] < answer.gravity.high
    assert answer.heat_w is not None
    assert answer.heat_w.value > 0.5


def test_it_says_that_activity_has_ended_and_never_that_it_is_finished(plain: Made, ended: Estimate) -> None:
    assert ended.verdict is Verdict.ENDED
    assert abs(error_pt(ended, plain, 168)) < 5
    assert any("reading" in sentence for sentence in ended.evidence)


def test_it_learns_the_vessels_time_constant(ended: Estimate) -> None:
    assert ended.fit is not None
    # A one-node vessel of 10 l was made with 6.5 (10/5)^(1/3) = 8.19 h.
    assert ended.fit.tau_h.low < 8.19 < ended.fit.tau_h.high


def test_the_heat_it_sees_is_the_heat_of_the_extract(plain: Made) -> None:
    # Watts summed over every sixth hour, against extract times heat of fermentation (586 kJ/kg).
    from service.thermal import beer

    seen = 0.0
    for hour in range(12, 120, 12):
        answer = estimate(known(plain, hour, readings=(GravityReading(at(hour - 1), plain.sg[hour - 1]),)))
        assert answer.heat_w is not None
        seen += answer.heat_w.value * 12 * 3.6

    extract = plain.volume_l * plain.og * beer.fermented_extract(plain.og, plain.sg[119])
    assert seen == pytest.approx(extract * beer.HEAT_KJ_PER_KG, rel=0.2)


def at(hour: float) -> datetime:
    return PITCHED + timedelta(hours=hour)


def test_one_reading_after_the_end_settles_it(plain: Made) -> None:
    answer = estimate(known(plain, 168, readings=(GravityReading(at(150), plain.sg[150]),)))

    assert answer.verdict is Verdict.FINISHED
    assert abs(error_pt(answer, plain, 168)) < 1.0
    assert answer.fit is not None
    assert answer.fit.readings_used == 1


def test_a_stopped_batch_is_called_so_only_after_a_reading() -> None:
    made = batch(stops_at=0.55)

    alone = estimate(known(made, 168))
    measured = estimate(known(made, 168, readings=(GravityReading(at(160), made.sg[160]),)))

    assert alone.verdict in (Verdict.ENDED, Verdict.POSSIBLY_STOPPED)
    assert measured.verdict is Verdict.STOPPED_EARLY
    assert abs(error_pt(measured, made, 168)) < 1.2


def test_the_order_of_readings_does_not_matter(plain: Made) -> None:
    readings = (GravityReading(at(100), plain.sg[100]), GravityReading(at(40), plain.sg[40]))

    one = estimate(known(plain, 120, readings=readings))
    other = estimate(known(plain, 120, readings=readings[::-1]))

    assert one == other


def test_later_readings_and_events_are_not_known_yet(plain: Made) -> None:
    future = (GravityReading(at(90), 1.000),)

    assert estimate(known(plain, 60, readings=future)) == estimate(known(plain, 60))


def test_weighing_measures_the_drop_itself(plain: Made) -> None:
    wrong_og = 1.052
    weighed = GravityReading(at(60), wrong_og - (plain.og - plain.sg[60]), ReadBy.WEIGHT)

    answer = estimate(known(plain, 62, og=wrong_og, readings=(weighed,)))

    assert answer.gravity is not None
    assert wrong_og - answer.gravity.value == pytest.approx(plain.og - plain.sg[61], abs=0.0035)


def test_a_limit_jar_narrows_the_end(plain: Made, ended: Estimate) -> None:
    jar = GravityReading(at(100), plain.sg[-1], ReadBy.LIMIT_JAR)

    answer = estimate(known(plain, 168, readings=(jar,)))

    assert answer.gravity is not None
    assert ended.gravity is not None
    assert answer.gravity.high - answer.gravity.low < 0.7 * (ended.gravity.high - ended.gravity.low)


def test_the_yeasts_own_range_counts(plain: Made) -> None:
    answer = estimate(known(plain, 168, yeast=YeastRange(0.74, 0.78)))

    assert abs(error_pt(answer, plain, 168)) < 2.5


def test_sugar_raises_gravity_again(plain: Made) -> None:
    answer = estimate(known(plain, 100, additions=(Addition(at(99), 6.0),)))
    before = estimate(known(plain, 100))

    assert answer.gravity is not None
    assert before.gravity is not None
    assert 1000 * (answer.gravity.value - before.gravity.value) == pytest.approx(5.5, abs=2.0)


def test_without_yeast_it_says_not_started_once_it_is_time(still: Made) -> None:
    assert estimate(known(still, 24)).verdict is Verdict.WAITING
    answer = estimate(known(still, 96))

    assert answer.verdict is Verdict.NOT_STARTED
    assert answer.gravity is not None
    assert answer.gravity.high >= still.og - 0.002
    assert answer.gravity.low < still.og - 0.006


def test_a_reading_that_shows_a_drop_withdraws_not_started(still: Made) -> None:
    answer = estimate(known(still, 96, readings=(GravityReading(at(90), still.og - 0.008),)))

    assert answer.verdict is not Verdict.NOT_STARTED


def test_foam_seen_withdraws_not_started(still: Made) -> None:
    answer = estimate(known(still, 96, sightings=(Sighting(at(60), "foam-up"),)))

    assert answer.verdict is not Verdict.NOT_STARTED


def test_cool_beer_without_heat_is_unknown_and_not_called_not_started() -> None:
    made = batch(works=False, hours=168, room_c=11.0)

    assert estimate(known(made, 160)).verdict is Verdict.UNKNOWN


def test_an_untold_heat_pad_is_disturbed() -> None:
    made = batch(hours=30, works=False, room_c=16.0, pad_c_per_h=2.0)

    answer = estimate(known(made, 30))

    assert answer.verdict is Verdict.DISTURBED
    assert answer.gravity is None
    assert answer.asks


def test_it_says_that_weeks_beyond_the_third_are_not_looked_at(plain: Made, ended: Estimate) -> None:
    later = estimate(replace(known(plain, 168), at=at(24 * 40)))

    assert any("three weeks" in sentence for sentence in later.evidence)
    assert not any("three weeks" in sentence for sentence in ended.evidence)


def test_a_heaters_record_gives_the_gravity_back() -> None:
    made = batch(hours=150, room_c=16.0, pad_c_per_h=2.0)
    record = tuple(Switch(at(hour), on) for hour, on in made.switched)

    told = estimate(known(made, 150, heater=record))
    untold = estimate(known(made, 150))

    assert len(record) > 50
    assert abs(error_pt(told, made, 150)) < 4
    assert told.gravity is not None
    assert told.gravity.high - told.gravity.low < 0.016
    assert untold.verdict is Verdict.DISTURBED


def test_exchanged_probes_are_noticed(plain: Made) -> None:
    swinging = batch(hours=48, swing_c=2.0)
    given = known(swinging, 48)

    answer = estimate(replace(given, beer=given.air, air=given.beer))

    assert answer.verdict is Verdict.DISTURBED
    assert "exchanged" in answer.evidence[0]
    assert estimate(given).verdict is not Verdict.DISTURBED


def test_a_told_cold_crash_holds_gravity(plain: Made) -> None:
    beers = list(plain.beer_c)
    for k in range(150 * 60, 168 * 60):
        beers[k] = 4 + (beers[150 * 60 - 1] - 4) * 2.718 ** (-(k - 9000) / 360)
    trace = Trace(PITCHED, tuple(range(len(beers))), tuple(beers))

    told = estimate(known(plain, 168, beer=trace, cooled=(Span(at(150)),)))
    untold = estimate(known(plain, 168, beer=trace))

    assert told.verdict is Verdict.ENDED
    assert abs(error_pt(told, plain, 168)) < 5
    assert untold.verdict is Verdict.DISTURBED


def test_nothing_is_said_without_pitching_beer_or_time(plain: Made) -> None:
    given = known(plain, 48)

    assert estimate(replace(given, pitched_at=None)).verdict is Verdict.WAITING
    assert estimate(replace(given, pitched_at=at(200))).verdict is Verdict.WAITING
    assert estimate(replace(given, beer=None)).verdict is Verdict.UNKNOWN
    assert estimate(known(plain, 2)).verdict is Verdict.WAITING


@pytest.mark.parametrize("missing, asked", [("og", "og"), ("volume_l", "volume_l")])
def test_without_og_or_volume_it_says_only_what_one_probe_could(
    plain: Made, missing: str, asked: str
) -> None:
    answer = estimate(known(plain, 60, **{missing: None}))

    assert answer.gravity is None
    assert answer.verdict in (Verdict.WORKING, Verdict.SLOWING, Verdict.UNKNOWN)
    assert asked in answer.asks


def test_one_probe_tells_that_it_has_begun_and_that_it_is_past_its_peak() -> None:
    made = batch(volume_l=20.0)

    begun = estimate(known(made, 48, air=None))
    past = estimate(known(made, 120, air=None))

    assert begun.verdict is Verdict.WORKING
    assert past.verdict is Verdict.SLOWING
    assert any("second probe" in sentence for sentence in begun.evidence)


def test_one_probe_makes_nothing_of_a_still_beer(still: Made) -> None:
    assert estimate(known(still, 72, air=None)).verdict is Verdict.UNKNOWN


@pytest.mark.parametrize("factor", [0.5, 2.0])
def test_a_volume_off_by_two_still_holds_the_truth(plain: Made, factor: float) -> None:
    answer = estimate(known(plain, 96, volume_l=plain.volume_l * factor))

    assert answer.gravity is not None
    assert answer.gravity.low - 0.003 < plain.sg[95] < answer.gravity.high + 0.003


def test_a_gap_and_a_clock_jump_do_not_break_it(plain: Made) -> None:
    given = known(plain, 96)
    assert given.beer is not None
    keep = [k for k in range(96 * 60) if not 40 * 60 < k < 52 * 60]
    jumped = [k if k < 80 * 60 else k - 30 for k in keep]
    trace = Trace(PITCHED, tuple(jumped), tuple(given.beer.temp_c[k] for k in keep))

    answer = estimate(replace(given, beer=trace))

    assert answer.gravity is not None
    assert abs(error_pt(answer, plain, 96)) < 6
    assert any("gap of 12 hours" in sentence for sentence in answer.evidence)
    assert not any("gap" in sentence for sentence in estimate(given).evidence)


def test_an_untold_mounting_is_named_as_a_reason(plain: Made) -> None:
    answer = estimate(known(plain, 96, mounting=None))

    assert any("mounted" in sentence for sentence in answer.evidence)


def test_a_box_nobody_mentioned_is_asked_about() -> None:
    boxed = batch(tau_h=22.0, hours=96)

    answer = estimate(known(boxed, 96))

    assert answer.asks == ("is the vessel wrapped",)
    assert answer.verdict is not Verdict.DISTURBED


def test_readings_of_the_wrong_size_do_not_raise(plain: Made) -> None:
    answer = estimate(known(plain, 72, readings=(GravityReading(at(60), 12.5),)))

    assert answer.verdict in Verdict


def test_minutes_in_any_order_with_impossible_values_are_put_right(plain: Made) -> None:
    given = known(plain, 48)
    assert given.beer is not None
    pairs = list(zip(given.beer.minutes, given.beer.temp_c, strict=True))[::-1]
    pairs.append((100.5, 85.0 + 100))
    pairs.append((101.5, float("nan")))
    trace = Trace(PITCHED, tuple(m for m, _ in pairs), tuple(t for _, t in pairs))

    assert estimate(replace(given, beer=trace)) == estimate(given)


def test_a_year_of_data_is_answered_from_its_first_weeks() -> None:
    made = batch(hours=24 * 30)
    n = 24 * 365
    beers = tuple(made.beer_c[k * 60] if k < 700 else 19.0 for k in range(n))
    airs = tuple(made.air_c[k * 60] if k < 700 else 19.0 for k in range(n))
    minutes = tuple(60.0 * k for k in range(n))

    answer = estimate(
        known(made, 24 * 30, beer=Trace(PITCHED, minutes, beers), air=Trace(PITCHED, minutes, airs), at=at(n))
    )

    assert answer.verdict is Verdict.ENDED


def test_naive_times_are_refused() -> None:
    with pytest.raises(ValueError, match="aware"):
        Trace(datetime(2026, 1, 1), (), ())  # noqa: DTZ001
    assert datetime(2026, 1, 1, tzinfo=UTC).tzinfo is not None
