"""Ice, changed water and the curve toward a bath."""

import math
import random
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.brewing.chilling import ice, water_change
from service.brewing.cooling import CoolingSample, cooling
from service.errors import InvalidInputError

START = datetime(2026, 1, 10, 15, 0, tzinfo=UTC)


def curve(
    *,
    first_c: float,
    bath_c: float,
    tau_s: float,
    span_s: float,
    every_s: float = 10,
    seed: int | None = None,
) -> list[CoolingSample]:
    """Newton's law, with a probe's steps of 1/16 C and some noise of stirring when a seed is given."""
    noise = random.Random(seed)
    samples = []
    for n in range(int(span_s / every_s) + 1):
        temp_c = bath_c + (first_c - bath_c) * math.exp(-n * every_s / tau_s)
        if seed is not None:
            temp_c = round((temp_c + noise.gauss(0, 0.15)) * 16) / 16
        samples.append(CoolingSample(START + timedelta(seconds=n * every_s), temp_c))
    return samples


def seconds(at: datetime | None) -> float:
    return math.inf if at is None else (at - START).total_seconds()


def test_the_time_of_a_target_is_found_with_an_interval() -> None:
    answer = cooling(samples=curve(first_c=80, bath_c=12, tau_s=900, span_s=600), bath_c=12, targets_c=[20])

    target = answer.targets[0]
    assert target.reachable
    assert seconds(target.at) == pytest.approx(900 * math.log(68 / 8), rel=0.01)
    assert seconds(target.low) < seconds(target.at) < seconds(target.high)
    assert answer.tau.low < answer.tau_s < answer.tau.high


@pytest.mark.parametrize(("bath_known", "span_s"), [(True, 200), (True, 1200), (False, 900)])
def test_nine_of_ten_intervals_hold_the_true_time(bath_known: bool, span_s: float) -> None:
    truth_s = 900 * math.log(68 / 8)
    held = 0

    for seed in range(40):
        samples = curve(first_c=80, bath_c=12, tau_s=900, span_s=span_s, seed=seed)
        bath_c = 12 + random.Random(1000 + seed).gauss(0, 0.4) if bath_known else None
        target = cooling(samples=samples, bath_c=bath_c, targets_c=[20]).targets[0]
        held += seconds(target.low) <= truth_s <= seconds(target.high)

    assert held >= 34


def test_a_target_below_the_bath_is_unreachable() -> None:
    answer = cooling(
        samples=curve(first_c=80, bath_c=19, tau_s=900, span_s=900, seed=1), bath_c=19, targets_c=[18, 19, 30]
    )

    assert [target.reachable for target in answer.targets] == [False, False, True]
    assert answer.targets[0].at is None


def test_an_unmeasured_bath_is_read_off_a_curve_that_has_run_long_enough() -> None:
    answer = cooling(samples=curve(first_c=80, bath_c=14, tau_s=600, span_s=1500, seed=2), targets_c=[12, 20])

    assert answer.bath_c.low < 14 < answer.bath_c.high
    assert [target.reachable for target in answer.targets] == [False, True]


def test_an_unmeasured_bath_leaves_the_end_open_while_the_curve_is_young() -> None:
    answer = cooling(samples=curve(first_c=80, bath_c=14, tau_s=900, span_s=60, seed=3), targets_c=[20])

    assert answer.targets[0].high is None


@pytest.mark.parametrize("span_s", [120, 240, 480, 900])
def test_a_hot_wort_on_a_young_curve_is_not_told_that_it_gets_nowhere(span_s: float) -> None:
    truth_s = 1500 * math.log(83 / 7)
    held = 0

    for seed in range(40):
        samples = curve(first_c=95, bath_c=12, tau_s=1500, span_s=span_s, seed=seed)
        target = cooling(samples=samples, targets_c=[19]).targets[0]
        held += target.reachable and seconds(target.low) <= truth_s <= seconds(target.high)

    assert held >= 34


def test_a_target_already_passed_was_reached_before() -> None:
    answer = cooling(
        samples=curve(first_c=80, bath_c=12, tau_s=900, span_s=600), bath_c=12, targets_c=[85, 60]
    )

    assert answer.targets[0].at == START
    assert seconds(answer.targets[1].at) == pytest.approx(900 * math.log(68 / 48), rel=0.01)


def test_warming_beer_follows_the_same_law() -> None:
    answer = cooling(
        samples=curve(first_c=4, bath_c=20, tau_s=20_000, span_s=20_000, every_s=300),
        bath_c=20,
        targets_c=[18],
    )

    assert seconds(answer.targets[0].at) == pytest.approx(20_000 * math.log(8), rel=0.02)


def test_samples_in_any_order_give_one_answer() -> None:
    samples = curve(first_c=80, bath_c=12, tau_s=900, span_s=600, seed=4)

    forward = cooling(samples=samples, bath_c=12, targets_c=[20])
    backward = cooling(samples=samples[::-1], bath_c=12, targets_c=[20])

    assert backward == forward


def test_thousands_of_samples_are_thinned_and_keep_the_newest() -> None:
    samples = curve(first_c=80, bath_c=12, tau_s=900, span_s=2000, every_s=1, seed=5)

    answer = cooling(samples=samples, bath_c=12, targets_c=[20])

    assert answer.tau_s == pytest.approx(900, rel=0.02)


@pytest.mark.parametrize(
    ("samples", "bath_c", "field", "words"),
    [
        ([], 12.0, "/samples", "fewer than four"),
        (curve(first_c=80, bath_c=79.9, tau_s=900, span_s=600), 12.0, "/samples", "too little"),
        (curve(first_c=80, bath_c=12, tau_s=900, span_s=600), 59.0, "/bath_c", "moves away"),
        (curve(first_c=80, bath_c=12, tau_s=900, span_s=600), 200.0, "/bath_c", "outside"),
        ([CoolingSample(START, math.nan)] * 5, 12.0, "/samples/0/temp_c", "not a number"),
        ([CoolingSample(START, 175.0)] * 5, 12.0, "/samples/0/temp_c", "Fahrenheit"),
        ([CoolingSample(START.replace(tzinfo=None), 80.0)] * 5, 12.0, "/samples/0/at", "offset"),
        ([CoolingSample(START, 80.0)] * 10_001, 12.0, "/samples", "more than 10000"),
    ],
)
def test_a_curve_that_cannot_be_told_is_refused(
    samples: Sequence[CoolingSample], bath_c: float, field: str, words: str
) -> None:
    with pytest.raises(InvalidInputError) as refusal:
        cooling(samples=samples, bath_c=bath_c, targets_c=[20])

    assert refusal.value.problems[0].field == field
    assert words in refusal.value.problems[0].problem


@settings(max_examples=25, deadline=None)
@given(
    first_c=st.floats(30, 100),
    bath_c=st.floats(0, 25),
    tau_s=st.floats(100, 40_000),
    taus_seen=st.floats(0.3, 3),
)
def test_the_time_constant_is_found_again_from_its_own_curve(
    first_c: float, bath_c: float, tau_s: float, taus_seen: float
) -> None:
    span_s = tau_s * taus_seen
    samples = curve(first_c=first_c, bath_c=bath_c, tau_s=tau_s, span_s=span_s, every_s=span_s / 40)

    answer = cooling(samples=samples, bath_c=bath_c, targets_c=[])

    assert answer.tau.low <= tau_s <= answer.tau.high


@settings(max_examples=50, deadline=None)
@given(to_c=st.floats(2, 60), lower=st.floats(0.1, 1.5), ice_c=st.floats(-30, 0))
def test_a_colder_wort_takes_more_ice_and_cold_ice_does_more(to_c: float, lower: float, ice_c: float) -> None:
    base = ice(volume_l=5, og=1.045, from_c=80, to_c=to_c, ice_c=ice_c)
    colder = ice(volume_l=5, og=1.045, from_c=80, to_c=to_c - lower, ice_c=ice_c)
    at_zero = ice(volume_l=5, og=1.045, from_c=80, to_c=to_c, ice_c=0)

    assert colder.kg > base.kg
    assert base.kg <= at_zero.kg


def test_ice_does_not_warm_a_wort() -> None:
    with pytest.raises(InvalidInputError, match="Ice only cools"):
        ice(volume_l=5, og=1.045, from_c=20, to_c=25)


def change(**changed: Any) -> Any:
    asked: dict[str, Any] = {
        "volume_l": 5.0,
        "wort_c": 90.0,
        "target_c": 20.0,
        "bath_l": 12.0,
        "bath_c": 15.0,
        "fresh_c": 15.0,
        "tau_s": 600.0,
    }
    return water_change(**(asked | changed))


def test_a_small_bath_that_cannot_reach_the_target_must_be_changed() -> None:
    answer = change(target_c=25)

    assert answer.keep_s is None
    assert answer.settles_at_c > 25
    assert answer.pays
    assert answer.fills_needed == 1
    assert answer.changed_s is not None
    assert answer.change_after_s is not None
    assert 0 < answer.change_after_s < answer.changed_s


def test_a_target_close_to_the_tap_may_take_several_fills() -> None:
    answer = change(target_c=16)

    assert answer.pays
    assert answer.fills_needed == 3
    assert answer.changed_s is None
    # Four fifths of the way to where wort and bath meet.
    assert answer.change_after_s == pytest.approx(600 * math.log(5) / (1 + 5.216 * 3.95 / 50.07), rel=0.01)


def test_changing_does_not_pay_when_the_target_is_near() -> None:
    answer = change(wort_c=30, target_c=28, bath_c=16)

    assert not answer.pays
    assert answer.fills_needed == 0
    assert answer.change_after_s is None


def test_water_no_colder_than_the_bath_does_not_pay_in_a_large_bath() -> None:
    answer = change(bath_l=500, target_c=40)

    assert not answer.pays


def test_water_as_warm_as_the_target_never_gets_there() -> None:
    answer = change(target_c=15)

    assert answer.keep_s is None
    assert answer.changed_s is None
    assert answer.fills_needed is None
    assert not answer.pays


def test_fresh_water_pays_when_a_warmed_bath_would_crawl_to_the_target() -> None:
    answer = change(wort_c=60, target_c=40, bath_l=30, bath_c=35, fresh_c=12)

    assert answer.keep_s is not None
    assert answer.changed_s is not None
    assert answer.pays
    assert answer.changed_s < answer.keep_s - 120
    # Waiting with so warm a bath gains nothing: at once is best.
    assert answer.change_after_s == 0
