from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.plans.course import END, BandSpan, advance, bands_between, begin
from service.plans.model import Plan
from tests.plans.given import BREW_DAY, NOON, days, hours, minutes, plan, plans, seconds, stage_json

RISING = plan(stage_json("primary", target_c={"from": 18, "to": 20, "over_s": 86400}))


def test_each_stage_has_its_band_cut_to_what_is_asked() -> None:
    course = begin(BREW_DAY, NOON, NOON + hours(3))

    spans = bands_between(BREW_DAY, course, NOON + minutes(30), NOON + hours(3), boiling_c=99.0)

    assert spans == [
        BandSpan(NOON + minutes(30), NOON + hours(1), "mash", 67.0, 65.5, 68.5),
        BandSpan(NOON + hours(1), NOON + hours(2), "boil", 99.0, 97.0, None),
        BandSpan(NOON + hours(2), NOON + hours(3), "chill", 20.0, None, 20.0),
    ]


def test_a_ramp_is_cut_into_pieces_that_carry_the_band_of_their_middle() -> None:
    course = begin(RISING, NOON, NOON)

    spans = bands_between(RISING, course, NOON, NOON + days(2), every_s=6 * 3600)

    assert [(span.from_at, span.target_c) for span in spans] == [
        (NOON, 18.25),
        (NOON + hours(6), 18.75),
        (NOON + hours(12), 19.25),
        (NOON + hours(18), 19.75),
        (NOON + hours(24), 20.0),
    ]
    assert spans[0].low_c == 16.25
    assert spans[-1].to_at == NOON + days(2)


def test_the_pieces_of_a_ramp_do_not_depend_on_what_is_asked() -> None:
    course = begin(RISING, NOON, NOON)

    spans = bands_between(RISING, course, NOON + hours(7), NOON + hours(20), every_s=6 * 3600)

    assert [span.from_at for span in spans] == [NOON + hours(7), NOON + hours(12), NOON + hours(18)]


def test_a_ramp_is_fine_enough_by_itself_and_never_finer_than_a_second() -> None:
    course = begin(RISING, NOON, NOON)

    assert len(bands_between(RISING, course, NOON, NOON + days(2))) == 49
    assert len(bands_between(RISING, course, NOON, NOON + minutes(1), every_s=0)) == 60


@pytest.mark.parametrize("from_h, to_h", [(-5, 0), (5, 5), (6, 5), (30, 40)])
def test_there_is_no_band_outside_the_batch_or_the_wrong_way_round(from_h: float, to_h: float) -> None:
    course = advance(RISING, begin(RISING, NOON, NOON), END, NOON + hours(10), NOON + hours(10))

    assert bands_between(RISING, course, NOON + hours(from_h), NOON + hours(to_h)) == []


@given(plans(), st.floats(0, 2e6), st.floats(-1e5, 2e6), st.floats(1, 2e6), st.floats(600, 1e5))
@settings(max_examples=60, deadline=None)
def test_the_spans_follow_each_other_without_gap(
    any_plan: Plan, gone_s: float, from_s: float, length_s: float, every_s: float
) -> None:
    course = begin(any_plan, NOON, NOON + seconds(gone_s))
    from_at, to_at = NOON + seconds(from_s), NOON + seconds(from_s + length_s)

    spans = bands_between(any_plan, course, from_at, to_at, every_s)

    begins = max(from_at, NOON)
    ends = to_at if course.ended_at is None else min(to_at, course.ended_at)
    assert bool(spans) == (begins < ends)
    assert all(a.to_at == b.from_at for a, b in pairwise(spans))
    assert all(span.from_at < span.to_at for span in spans)
    assert not spans or (spans[0].from_at, spans[-1].to_at) == (begins, ends)
