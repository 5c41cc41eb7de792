"""Delivery: at least once, in order, and no channel waits for another."""

import logging
import threading
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.errors import InvalidInputError, Problem
from service.notify.bounded import Patience
from service.notify.channel_config import WebhookConfig
from service.notify.channels import Channel
from service.notify.channels.webhook import WebhookChannel
from service.notify.delivery import Deliverer
from service.notify.envelope import Delivered, Envelope, SendFailedError
from tests.notify.fakes import AwayChannel, HandClock, HeldChannel, KeepingChannel, MemoryOutbox
from tests.notify.office import BUSY, NEVER, Office, kept, until
from tests.notify.receivers import Answer, http_receiver
from tests.notify.samples import NOON, an_envelope


def test_it_sends_what_is_due_and_marks_it_as_sent() -> None:
    phone = KeepingChannel()
    office = Office({"phone": phone})
    office.post("phone", 1, 2, 3)

    office.round()

    assert kept(phone) == ["m-1", "m-2", "m-3"]
    assert [(s.delivery.delivery_id, s.arrived, s.words) for s in office.outbox.settled] == [
        (1, True, "kept"),
        (2, True, "kept"),
        (3, True, "kept"),
    ]
    assert office.outbox.waiting() == []


def test_it_marks_nothing_as_sent_before_the_far_end_said_yes() -> None:
    phone = HeldChannel()
    office = Office({"phone": phone})
    office.post("phone", 1)

    office.deliverer.run_once()
    assert phone.entered.wait(5)
    before = list(office.outbox.settled)
    phone.let_go.set()

    assert before == []
    assert until(lambda: len(office.outbox.settled) == 1)


def test_a_failure_that_may_pass_is_tried_again_later_with_the_same_message() -> None:
    phone = KeepingChannel(BUSY, BUSY)
    office = Office({"phone": phone})
    office.post("phone", 1)

    office.round()
    wait_s = office.deliverer.run_once()
    office.clock.forward(seconds=10)
    office.round()
    office.clock.forward(seconds=20)
    office.round()

    assert wait_s == 10
    assert [envelope.id for envelope in phone.attempts] == ["m-1", "m-1", "m-1"]
    assert kept(phone) == ["m-1"]
    assert office.outbox.errors == ["The far end is busy."] * 2


def test_nothing_overtakes_a_message_that_is_tried_again() -> None:
    phone = KeepingChannel(BUSY)
    office = Office({"phone": phone})
    office.post("phone", 1, 2)

    office.round()
    office.post("phone", 3)
    office.round()
    before = kept(phone)
    office.clock.forward(seconds=10)
    office.round()

    assert before == []
    assert kept(phone) == ["m-1", "m-2", "m-3"]


def test_a_permanent_refusal_is_given_up_and_what_follows_still_leaves() -> None:
    phone = KeepingChannel(NEVER)
    office = Office({"phone": phone})
    office.post("phone", 1, 2)

    office.round()

    assert kept(phone) == ["m-2"]
    assert [(s.delivery.delivery_id, s.arrived, s.words) for s in office.outbox.settled] == [
        (1, False, "The far end said never."),
        (2, True, "kept"),
    ]


def test_a_channel_that_is_gone_gives_its_messages_up_in_words() -> None:
    office = Office({})
    office.post("phone", 1)

    office.round()

    (settled,) = office.outbox.settled
    assert not settled.arrived
    assert settled.words == "The channel phone does not exist any more."


def test_a_channel_that_cannot_be_made_is_tried_again() -> None:
    def refuse(channel_id: str) -> Channel:
        raise InvalidInputError(Problem("/kind", "the apprise library is not installed"))

    outbox = MemoryOutbox()
    outbox.put("phone", an_envelope(), NOON)
    deliverer = Deliverer(outbox, refuse, lambda: NOON, threading.Event(), lambda: 0.0)

    deliverer.run_once()

    assert until(lambda: outbox.errors == ["/kind: the apprise library is not installed"])
    assert len(outbox.waiting()) == 1


def test_a_channel_with_a_mistake_in_it_is_tried_again_and_not_quoted(
    caplog: pytest.LogCaptureFixture,
) -> None:
    class Broken(KeepingChannel):
        def send(self, envelope: Envelope) -> Delivered:
            raise ZeroDivisionError("hush-hush")

    office = Office({"phone": Broken()})
    office.post("phone", 1)

    with caplog.at_level(logging.DEBUG):
        office.round()

    assert office.outbox.errors == ["Sending to phone failed in an unexpected way (ZeroDivisionError)."]
    assert "hush-hush" not in caplog.text
    assert "ZeroDivisionError" in caplog.text


def test_messages_that_waited_through_an_outage_leave_as_one_in_order() -> None:
    phone = KeepingChannel(BUSY)
    office = Office({"phone": phone})
    office.post("phone", 1)
    office.round()
    office.clock.forward(minutes=20)
    office.post("phone", 2, 3)
    office.clock.forward(minutes=20)
    office.post("phone", 4)

    office.round()

    assert kept(phone)[0] == "m-1"
    assert kept(phone)[1].startswith("merged-")
    assert kept(phone)[2] == "m-4"
    assert "2026-11-25 12:20 UTC: Bucket: above the band (2)" in phone.kept[1].text
    assert [s.delivery.delivery_id for s in office.outbox.settled] == [1, 2, 3, 4]


def test_a_merged_message_that_is_refused_is_sent_in_its_parts() -> None:
    class TakesShortOnes(KeepingChannel):
        def send(self, envelope: Envelope) -> Delivered:
            if envelope.reason == "merged":
                raise SendFailedError("too long", transient=False)
            return super().send(envelope)

    phone = TakesShortOnes()
    office = Office({"phone": phone})
    office.post("phone", 1, 2, 3)
    office.clock.forward(minutes=20)

    office.round()

    assert kept(phone) == ["m-1", "m-2", "m-3"]
    assert all(settled.arrived for settled in office.outbox.settled)


def test_a_merged_message_that_fails_is_tried_again_whole() -> None:
    phone = KeepingChannel(BUSY)
    office = Office({"phone": phone})
    office.post("phone", 1, 2, 3)
    office.clock.forward(minutes=20)

    office.round()
    attempts = [delivery.attempts for delivery in office.outbox.waiting()]
    office.clock.forward(seconds=10)
    office.round()

    assert attempts == [1, 1, 1]
    assert office.outbox.waiting() == []


def test_a_day_without_a_far_end_loses_nothing() -> None:
    office_clock = HandClock(NOON)
    phone = AwayChannel(office_clock, back_at=NOON + timedelta(hours=24))
    office = Office({"phone": phone})
    office.clock.at = NOON
    end = NOON + timedelta(hours=25)
    posted = 0

    while office.clock() < end:
        if office.clock() - NOON >= timedelta(minutes=15) * posted:
            posted += 1
            office.post("phone", posted)
        office.round()
        office.clock.forward(minutes=1)
        office_clock.at = office.clock()

    settled = office.outbox.settled
    assert posted == 100
    assert [s.delivery.delivery_id for s in settled] == list(range(1, 101))
    assert all(s.arrived for s in settled)
    assert len(phone.kept) < 15
    said = "\n".join(envelope.text + envelope.title for envelope in phone.kept)
    assert all(f"({n})" in said for n in range(1, 101))


outcomes = st.lists(st.sampled_from([None, None, BUSY, NEVER]), max_size=12)


@settings(max_examples=40, deadline=None)
@given(
    posts=st.lists(st.tuples(st.sampled_from(["a", "b", "c"]), st.integers(0, 900)), min_size=1, max_size=25),
    fails=st.fixed_dictionaries(dict.fromkeys("abc", outcomes)),
)
def test_whatever_fails_everything_is_settled_once_and_in_order(
    posts: list[tuple[str, int]], fails: dict[str, list[SendFailedError | None]]
) -> None:
    class Scripted(KeepingChannel):
        def __init__(self, script: list[SendFailedError | None]) -> None:
            super().__init__()
            self.script = list(script)

        def send(self, envelope: Envelope) -> Delivered:
            outcome = self.script.pop(0) if self.script else None
            if outcome is not None:
                raise outcome
            return super().send(envelope)

    channels = {name: Scripted(script) for name, script in fails.items()}
    office = Office(channels)
    for n, (to, pause_s) in enumerate(posts, start=1):
        office.post(to, n)
        office.round()
        office.clock.forward(seconds=pause_s)
    for _ in range(60):
        office.round()
        office.clock.forward(minutes=6)

    assert office.outbox.waiting() == []
    for name, channel in channels.items():
        settled = [s for s in office.outbox.settled if s.delivery.channel_id == name]
        order = [s.delivery.delivery_id for s in settled]
        assert order == [n for n, (to, _) in enumerate(posts, start=1) if to == name]
        said = [envelope.title + envelope.text for envelope in channel.kept]
        for s in settled:
            title = s.delivery.envelope.title
            assert sum(title in words for words in said) == (1 if s.arrived else 0)


@pytest.mark.parametrize("next_in_s, expected_s", [(None, 30.0), (7.5, 7.5), (3600.0, 30.0)])
def test_it_says_how_long_there_is_nothing_to_do(next_in_s: float | None, expected_s: float) -> None:
    office = Office({"phone": KeepingChannel()})
    if next_in_s is not None:
        office.outbox.put("phone", an_envelope(), NOON + timedelta(seconds=next_in_s))

    assert office.round() == expected_s


def test_a_clock_that_was_set_back_delays_nothing() -> None:
    phone = KeepingChannel(BUSY)
    office = Office({"phone": phone})
    office.post("phone", 1)
    office.round()

    office.clock.forward(hours=-5)
    office.round()

    assert kept(phone) == ["m-1"]


@pytest.mark.component
def test_a_real_far_end_gets_repeats_it_can_recognise() -> None:
    busy = Answer(503, {"Retry-After": "60"})
    with http_receiver(busy, Answer(closes=True), Answer()) as receiver:
        config = WebhookConfig(receiver.url)
        channel = WebhookChannel(config, now=lambda: NOON, patience=Patience(0.5, 1.5))
        office = Office({"phone": channel})
        office.post("phone", 1, 2)
        waits = []
        for _ in range(3):
            office.round()
            next_at = office.outbox.next_due_at()
            waits.append((next_at - office.clock()).total_seconds() if next_at is not None else None)
            office.clock.forward(seconds=waits[-1] or 0)
        channel.close()

    assert waits == [60, 20, None]
    assert [got.headers["Idempotency-Key"] for got in receiver.received] == ["m-1", "m-1", "m-1", "m-2"]
    assert [s.words for s in office.outbox.settled] == ["200 OK", "200 OK"]
