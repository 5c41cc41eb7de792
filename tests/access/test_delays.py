import pytest

from service.access.delays import EVERYBODY, FORGOTTEN_S, FREE, LONGEST_S, REMEMBERED, Delays, neighbourhood
from service.errors import TooSoonError


class Hand:
    def __init__(self) -> None:
        self.at = 1000.0

    def __call__(self) -> float:
        return self.at


@pytest.fixture
def hand() -> Hand:
    return Hand()


def wait(delays: Delays, name: str = "attic", peer: str = "192.0.2.7", known: bool = False) -> int:
    """How long a try has to wait; 0: it was let through, and counted."""
    try:
        delays.begin(name, peer, known)
    except TooSoonError as too_soon:
        return too_soon.after_s
    return 0


def test_the_wait_doubles_up_to_a_limit(hand: Hand) -> None:
    delays = Delays(hand)
    for _ in range(FREE):
        assert wait(delays) == 0

    waits = []
    for _ in range(11):
        waits.append(wait(delays))
        hand.at += waits[-1]
        assert wait(delays) == 0

    assert waits == [1, 2, 4, 8, 16, 32, 64, 128, 256, LONGEST_S, LONGEST_S]


def test_hammering_makes_nothing_longer(hand: Hand) -> None:
    delays = Delays(hand)
    for _ in range(FREE + 50):
        last = wait(delays)

    assert last == 1


def test_a_stranger_elsewhere_does_not_lock_the_owner_out(hand: Hand) -> None:
    delays = Delays(hand)
    for _ in range(FREE + 5):
        wait(delays, peer="203.0.113.9")

    assert wait(delays, peer="203.0.113.9") > 0
    assert wait(delays, peer="192.0.2.7") == 0


def test_a_right_password_and_an_hour_begin_the_count_anew(hand: Hand) -> None:
    delays = Delays(hand)
    for _ in range(FREE):
        wait(delays)
    hand.at += 1
    assert wait(delays) == 0
    delays.succeeded("Attic", "192.0.2.7")
    assert [wait(delays) for _ in range(FREE)] == [0, 0, 0]
    assert wait(delays) > 0
    hand.at += FORGOTTEN_S + 1

    assert [wait(delays) for _ in range(FREE)] == [0, 0, 0]


def test_many_names_from_one_address_are_slowed_too(hand: Hand) -> None:
    delays = Delays(hand)

    waits = [wait(delays, name=f"name {n}") for n in range(20)]

    assert waits[:12] == [0] * 12
    assert all(one > 0 for one in waits[12:])


def test_everybody_together_is_bounded_but_not_who_is_logged_in_there(hand: Hand) -> None:
    delays = Delays(hand)
    waits = [wait(delays, f"n{n}", f"203.0.113.{n}") for n in range(EVERYBODY + 5)]

    assert waits[:EVERYBODY] == [0] * EVERYBODY
    assert waits[EVERYBODY:] == [60] * 5
    assert wait(delays, known=True) == 0
    hand.at += 61
    assert wait(delays, "n99", "203.0.113.99") == 0


def test_made_up_addresses_do_not_fill_the_memory(hand: Hand) -> None:
    delays = Delays(hand)
    for n in range(REMEMBERED + 500):
        hand.at += 3
        wait(delays, f"n{n}", f"10.{n // 250}.{n % 250}.1")

    assert len(delays._tried) <= REMEMBERED


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("192.0.2.7", "192.0.2.8", False),
        ("::ffff:192.0.2.7", "192.0.2.7", True),
        ("2001:db8:1:2::1", "2001:db8:1:2:ffff::9", True),
        ("2001:db8:1:2::1", "2001:db8:1:3::1", False),
        ("fe80::1%eth0", "fe80::2", True),
    ],
)
def test_an_address_stands_for_its_household(one: str, other: str, same: bool) -> None:
    assert (neighbourhood(one) == neighbourhood(other)) is same
