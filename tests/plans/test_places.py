from collections.abc import Callable
from datetime import datetime
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.errors import ConflictError, InvalidInputError
from service.plans.places import Place, close, leave, move, open_places, place_at, places_between, reopen
from tests.plans.given import NOON, days, hours, seconds

KETTLE_THEN_BUCKET = move(move((), "kettle", NOON), "bucket", NOON + hours(3))


def test_a_batch_is_put_in_its_first_vessel() -> None:
    assert move((), "kettle", NOON) == (Place("kettle", NOON, None),)


def test_moving_leaves_one_vessel_when_the_next_is_entered() -> None:
    assert (
        Place("kettle", NOON, NOON + hours(3)),
        Place("bucket", NOON + hours(3), None),
    ) == KETTLE_THEN_BUCKET


def test_a_batch_may_come_back_to_a_vessel() -> None:
    again = move(KETTLE_THEN_BUCKET, "kettle", NOON + days(1))

    assert [place.vessel_id for place in again] == ["kettle", "bucket", "kettle"]


def test_moving_to_where_it_is_already_is_a_conflict() -> None:
    with pytest.raises(ConflictError, match="in 'bucket' already, since 2026-11-25 15:00:00 UTC"):
        move(KETTLE_THEN_BUCKET, "bucket", NOON + days(1))


@pytest.mark.parametrize(
    "at, words",
    [
        (NOON + hours(3), "not after"),
        (NOON + hours(1), "not after"),
        (NOON + days(3), "future"),
        (NOON.replace(tzinfo=None), "no offset"),
    ],
)
def test_an_impossible_move_is_refused_in_words(at: datetime, words: str) -> None:
    with pytest.raises(InvalidInputError, match=words) as error:
        move(KETTLE_THEN_BUCKET, "crate", at, now=NOON + days(2))

    assert error.value.problems[0].field == "/from"
    assert error.value.problems[0].remedy


def test_a_move_at_this_very_moment_is_not_in_the_future() -> None:
    assert move(KETTLE_THEN_BUCKET, "crate", NOON + days(2), now=NOON + days(2))[-1].vessel_id == "crate"


def test_the_last_place_is_closed_when_the_batch_ends() -> None:
    closed = close(KETTLE_THEN_BUCKET, NOON + days(9))

    assert closed[-1] == Place("bucket", NOON + hours(3), NOON + days(9))
    assert close((), NOON) == ()
    assert close(KETTLE_THEN_BUCKET, NOON + hours(3))[-1].to_at == NOON + hours(3)
    with pytest.raises(ConflictError, match="has ended"):
        move(closed, "crate", NOON + days(10))
    with pytest.raises(InvalidInputError, match="before"):
        close(KETTLE_THEN_BUCKET, NOON + hours(2))


def test_an_end_that_is_put_right_moves_or_opens_the_last_place() -> None:
    closed = close(KETTLE_THEN_BUCKET, NOON + days(9))

    assert close(closed, NOON + days(8))[-1].to_at == NOON + days(8)
    assert reopen(closed) == KETTLE_THEN_BUCKET
    assert reopen(()) == ()


@pytest.mark.parametrize(
    "after_h, vessel_id",
    [(-1, None), (0, "kettle"), (2.99, "kettle"), (3, "bucket"), (47.9, "bucket"), (48, None)],
)
def test_a_time_falls_in_one_place(after_h: float, vessel_id: str | None) -> None:
    place = place_at(close(KETTLE_THEN_BUCKET, NOON + hours(48)), NOON + hours(after_h))

    assert (None if place is None else place.vessel_id) == vessel_id


def test_the_places_of_a_stretch_of_time_are_cut_to_it() -> None:
    assert places_between(KETTLE_THEN_BUCKET, NOON + hours(1), NOON + hours(5)) == [
        Place("kettle", NOON + hours(1), NOON + hours(3)),
        Place("bucket", NOON + hours(3), NOON + hours(5)),
    ]
    assert places_between(KETTLE_THEN_BUCKET, NOON + hours(3), NOON + hours(5)) == [
        Place("bucket", NOON + hours(3), NOON + hours(5))
    ]
    assert places_between(KETTLE_THEN_BUCKET, NOON - hours(3), NOON) == []


@given(st.lists(st.tuples(st.sampled_from(["kettle", "bucket", "crate"]), st.floats(-100, 1000)), max_size=8))
@settings(max_examples=60, deadline=None)
def test_whatever_moves_are_asked_a_batch_is_in_one_place_at_a_time(asked: list[tuple[str, float]]) -> None:
    places: tuple[Place, ...] = ()
    at = NOON
    for vessel_id, later_s in asked:
        try:
            places = move(places, vessel_id, at + seconds(later_s))
        except (ConflictError, InvalidInputError):
            continue
        at = places[-1].from_at

    assert all(a.to_at == b.from_at and a.from_at < b.from_at for a, b in pairwise(places))
    assert all(place_at(places, place.from_at) == place for place in places)
    assert not places or places[-1].to_at is None


SPLIT = move(KETTLE_THEN_BUCKET, "jug", NOON + hours(3), also=True)


def test_a_part_may_go_into_another_vessel_while_the_rest_stays() -> None:
    assert (*KETTLE_THEN_BUCKET, Place("jug", NOON + hours(3), None)) == SPLIT
    assert [p.vessel_id for p in open_places(SPLIT)] == ["bucket", "jug"]


def test_one_of_several_vessels_is_left_and_the_rest_goes_on() -> None:
    moved = move(SPLIT, "keg", NOON + days(2), leaves="jug")
    emptied = leave(moved, "bucket", NOON + days(3))

    assert [p.vessel_id for p in open_places(moved)] == ["bucket", "keg"]
    assert next(p for p in moved if p.vessel_id == "jug").to_at == NOON + days(2)
    assert [p.vessel_id for p in open_places(emptied)] == ["keg"]


def test_a_split_batch_that_is_moved_is_together_again() -> None:
    together = move(SPLIT, "crate", NOON + days(2))

    assert [p.vessel_id for p in open_places(together)] == ["crate"]
    assert {p.to_at for p in together if p.vessel_id in ("bucket", "jug")} == {NOON + days(2)}


def test_a_split_batch_that_ends_and_goes_on_does_so_in_every_vessel() -> None:
    ended = close(SPLIT, NOON + days(9))

    assert open_places(ended) == ()
    assert reopen(ended) == SPLIT
    assert close(ended, NOON + days(8)) == close(SPLIT, NOON + days(8))


def test_a_vessel_left_before_the_end_stays_left_when_the_batch_goes_on() -> None:
    emptied = leave(SPLIT, "jug", NOON + days(2))

    assert reopen(close(emptied, NOON + days(9))) == emptied


@pytest.mark.parametrize(
    ("change", "error", "words"),
    [
        (lambda: move(SPLIT, "jug", NOON + days(1), also=True), ConflictError, "in 'jug' already"),
        (lambda: move(SPLIT, "keg", NOON + days(1), leaves="tub"), InvalidInputError, "not in 'tub'"),
        (lambda: move(SPLIT, "keg", NOON + days(1), also=True, leaves="jug"), InvalidInputError, "also stay"),
        (lambda: move(SPLIT, "keg", NOON + hours(3)), InvalidInputError, "not after"),
        (lambda: move(SPLIT, "keg", NOON, also=True), InvalidInputError, "not after"),
        (lambda: leave(SPLIT, "tub", NOON + days(1)), InvalidInputError, "not in 'tub'"),
        (lambda: leave(SPLIT, "jug", NOON + hours(3)), InvalidInputError, "not after"),
        (lambda: leave(SPLIT, "jug", NOON + days(2), NOON + days(1)), InvalidInputError, "future"),
        (lambda: leave(KETTLE_THEN_BUCKET, "bucket", NOON + days(1)), ConflictError, "only in 'bucket'"),
        (lambda: move(close(SPLIT, NOON + days(9)), "keg", NOON + days(10)), ConflictError, "has ended"),
    ],
)
def test_what_a_split_does_not_allow_is_said(
    change: Callable[[], object], error: type[Exception], words: str
) -> None:
    with pytest.raises(error, match=words):
        change()
