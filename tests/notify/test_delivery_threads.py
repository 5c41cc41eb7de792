"""Delivery left to its threads: channels side by side, trouble outlived, a stop that is quick."""

import threading
import time

import pytest

from service.notify.delivery import Deliverer
from service.notify.envelope import Delivered, Envelope
from tests.notify.fakes import HeldChannel, KeepingChannel
from tests.notify.office import Office, kept, until


def test_one_slow_channel_does_not_hold_up_the_others() -> None:
    slow, quick = HeldChannel(), KeepingChannel()
    office = Office({"slow": slow, "quick": quick}, batch=4)
    office.post("slow", *range(1, 21))
    office.deliverer.run_once()
    assert slow.entered.wait(5)

    office.post("quick", 30)
    office.deliverer.run_once()
    arrived = until(lambda: kept(quick) == ["m-30"])
    slow.let_go.set()

    assert arrived
    assert until(lambda: not office.deliverer.busy())


def test_a_busy_channel_is_not_given_the_same_message_twice() -> None:
    slow = HeldChannel()
    office = Office({"slow": slow})
    office.post("slow", 1)

    waits = []
    for _ in range(5):
        waits.append(office.deliverer.run_once())
        assert slow.entered.wait(5)
    slow.let_go.set()

    assert until(lambda: len(office.outbox.settled) == 1)
    assert kept(slow) == ["m-1"]
    assert min(waits) >= 0.5


def test_a_yes_that_could_not_be_marked_is_marked_later_and_not_sent_again() -> None:
    class LosesTheDisk(KeepingChannel):
        def send(self, envelope: Envelope) -> Delivered:
            delivered = super().send(envelope)
            office.outbox.broken = True
            return delivered

    phone = LosesTheDisk()
    office = Office({"phone": phone})
    office.post("phone", 1)
    office.deliverer.start()
    assert until(lambda: office.outbox.broken)
    time.sleep(0.2)

    office.outbox.broken = False
    marked = until(lambda: len(office.outbox.settled) == 1)

    office.deliverer.stop()
    assert marked
    assert kept(phone) == ["m-1"]


def test_left_to_itself_it_delivers_as_soon_as_it_is_woken() -> None:
    phone = KeepingChannel()
    office = Office({"phone": phone})
    office.deliverer.start()
    assert until(lambda: office.beats > 0)

    office.post("phone", 1)
    arrived = until(lambda: kept(phone) == ["m-1"], limit_s=5)

    assert office.deliverer.stop()
    assert arrived


def test_it_rests_between_messages() -> None:
    phone = KeepingChannel()
    office = Office({"phone": phone})
    office.deliverer.start()
    office.post("phone", 1)
    assert until(lambda: kept(phone) == ["m-1"])

    time.sleep(0.3)
    office.deliverer.stop()

    assert office.beats < 10


def test_it_outlives_an_outbox_that_is_away_for_a_while(caplog: pytest.LogCaptureFixture) -> None:
    phone = KeepingChannel()
    office = Office({"phone": phone})
    office.outbox.broken = True
    office.deliverer.start()
    assert until(lambda: office.beats > 0)

    office.outbox.broken = False
    office.post("phone", 1)
    arrived = until(lambda: kept(phone) == ["m-1"], limit_s=5)

    office.deliverer.stop()
    assert arrived
    assert "the outbox cannot be read (OSError)" in caplog.text


def test_it_says_when_its_own_round_had_to_be_abandoned() -> None:
    office = Office({})
    begun, let_go = threading.Event(), threading.Event()

    def hang() -> None:
        begun.set()
        let_go.wait(30)

    deliverer = Deliverer(office.outbox, lambda _: None, office.clock, office.wake, lambda: 0.0, beat=hang)
    deliverer.start()
    assert begun.wait(5)

    ended = deliverer.stop(timeout_s=0.1)
    let_go.set()

    assert not ended
    assert deliverer.stop()


def test_one_that_was_never_started_stops_too() -> None:
    assert Office({}).deliverer.stop()


def test_it_stops_within_two_seconds_though_a_send_hangs() -> None:
    phone = HeldChannel()
    office = Office({"phone": phone})
    office.deliverer.start()
    office.post("phone", 1, 2)
    assert phone.entered.wait(5)

    began = time.monotonic()
    clean = office.deliverer.stop()
    took_s = time.monotonic() - began
    waiting = len(office.outbox.waiting())
    phone.let_go.set()

    assert not clean
    assert took_s < 2.5
    assert waiting == 2
    assert until(lambda: not office.deliverer.busy())
    assert kept(phone) == ["m-1"]


def test_it_stops_at_once_when_nothing_is_going_on() -> None:
    office = Office({})
    office.deliverer.start()

    began = time.monotonic()
    clean = office.deliverer.stop()

    assert clean
    assert time.monotonic() - began < 1
