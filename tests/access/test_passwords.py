import threading
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.access.common_passwords import COMMON
from service.access.passwords import (
    LONGEST,
    MEMORY_KIB,
    MOST_WAITING,
    PASSES,
    SHORTEST,
    Passwords,
    checked,
    normal,
)
from service.errors import InvalidInputError, TooSoonError

CHEAP = Passwords(memory_kib=64, passes=1)
GOOD = "kettle on the stair"


@pytest.mark.parametrize(
    "password",
    [
        "",
        "a" * 11,
        "short",
        "Passwordpassword",
        "QWERTYUIOP123",
        "gylewatchgylewatch",
        "a" * 257,
        "\ud800" * 12,
    ],
)
def test_a_weak_or_impossible_password_is_refused(password: str) -> None:
    with pytest.raises(InvalidInputError) as refused:
        checked(password)

    assert refused.value.problems[0].remedy


@pytest.mark.parametrize("password", ["b" * 12, GOOD, "żółć gęślą jaźń", "🍺" * 12, "c" * LONGEST])
def test_nothing_is_asked_of_its_composition(password: str) -> None:
    assert checked(password) == checked(checked(password))


def test_the_commonest_are_long_enough_to_be_tried() -> None:
    assert len(COMMON) > 80
    assert all(len(one) >= SHORTEST and one == one.casefold() for one in COMMON)


@settings(max_examples=30, deadline=None)
@given(st.text(st.characters(exclude_categories=["Cs"]), max_size=40), st.text(max_size=40))
def test_only_the_same_password_fits(one: str, other: str) -> None:
    stored = CHEAP.hash(one)

    assert CHEAP.fits(stored, one)
    assert CHEAP.fits(stored, other) == (normal(one) == normal(other))


def test_a_password_fits_however_the_keyboard_composed_it() -> None:
    assert CHEAP.fits(CHEAP.hash("Bru\u0308hwu\u0308rze im Topf"), "Brühwürze im Topf")


@pytest.mark.parametrize("stored", [None, "", "no hash", "$argon2id$v=19$m=8,t=1,p=1$x$y"])
def test_nobody_comes_in_by_a_broken_or_missing_hash(stored: str | None) -> None:
    assert not CHEAP.fits(stored, GOOD)


def test_a_name_that_nobody_has_takes_as_long_as_one_that_somebody_has() -> None:
    real = Passwords()
    stored = real.hash(GOOD)
    real.fits(None, GOOD)

    def took_s(hash_or_nobody: str | None) -> float:
        began = time.process_time()
        real.fits(hash_or_nobody, "lid on the stair")
        return time.process_time() - began

    somebody, nobody = min(took_s(stored) for _ in range(3)), min(took_s(None) for _ in range(3))
    assert 0.5 < nobody / somebody < 2


def test_the_real_hash_is_argon2id_with_the_least_that_is_advised() -> None:
    stored = Passwords().hash(GOOD)

    assert (MEMORY_KIB, PASSES) == (19_456, 2)
    assert stored.startswith("$argon2id$v=19$m=19456,t=2,p=1$")
    assert not Passwords().is_old(stored)
    assert Passwords().is_old(CHEAP.hash(GOOD))


def test_only_a_few_wait_for_their_turn_and_the_rest_are_sent_away() -> None:
    slow = Passwords(passes=40)
    refused: list[int] = []
    done: list[str] = []

    def call() -> None:
        try:
            done.append(slow.hash(GOOD))
        except TooSoonError as too_soon:
            refused.append(too_soon.after_s)

    threads = [threading.Thread(target=call) for _ in range(MOST_WAITING + 3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(done) + len(refused) == MOST_WAITING + 3
    assert 1 <= len(refused) <= 3
