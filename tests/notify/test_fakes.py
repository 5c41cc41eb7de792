"""The outbox in memory keeps the promises of the protocol, so that tests with it say something."""

from datetime import timedelta

import pytest

from service.notify.outbox import FURTHEST, Outbox
from tests.notify.fakes import MemoryOutbox
from tests.notify.samples import NOON, an_envelope

SECOND = timedelta(seconds=1)


def ids(outbox: MemoryOutbox, at_s: float = 0, limit: int = 100) -> list[int]:
    return [delivery.delivery_id for delivery in outbox.due(NOON + at_s * SECOND, limit)]


def three_for_phone_and_one_for_mail() -> MemoryOutbox:
    outbox = MemoryOutbox()
    for n, channel in enumerate(("phone", "phone", "mail", "phone"), start=1):
        outbox.put(channel, an_envelope(n), NOON)
    return outbox


def test_it_is_an_outbox() -> None:
    outbox: Outbox = MemoryOutbox()

    assert outbox.due(NOON, 10) == []
    assert outbox.next_due_at() is None


def test_new_deliveries_are_due_at_once_in_order() -> None:
    outbox = three_for_phone_and_one_for_mail()

    assert ids(outbox) == [1, 2, 3, 4]
    assert ids(outbox, limit=2) == [1, 2]
    assert outbox.next_due_at() == NOON


def test_younger_ones_wait_behind_one_that_is_retried_and_other_channels_do_not() -> None:
    outbox = three_for_phone_and_one_for_mail()

    outbox.retry(1, NOON, NOON + 10 * SECOND, "busy")

    assert ids(outbox) == [3]
    assert ids(outbox, at_s=9.9) == [3]
    assert ids(outbox, at_s=10) == [1, 2, 3, 4]
    assert outbox.errors == ["busy"]


def test_it_counts_attempts_and_keeps_when_the_first_failed() -> None:
    outbox = three_for_phone_and_one_for_mail()

    outbox.retry(1, NOON, NOON + 10 * SECOND, "busy")
    outbox.retry(1, NOON + 10 * SECOND, NOON + 30 * SECOND, "busy")

    (first, *_) = outbox.waiting()
    assert (first.attempts, first.first_failed_at) == (2, NOON)


@pytest.mark.parametrize("arrived", [True, False])
def test_what_is_settled_is_gone_and_stays_so(arrived: bool) -> None:
    outbox = three_for_phone_and_one_for_mail()

    for _ in range(2):
        if arrived:
            outbox.sent(1, NOON, "yes", 5)
        else:
            outbox.gave_up(1, NOON, "never")
    outbox.retry(1, NOON, NOON, "late")

    assert ids(outbox) == [2, 3, 4]
    (settled,) = outbox.settled
    assert (settled.delivery.delivery_id, settled.arrived) == (1, arrived)


def test_the_next_time_is_that_of_the_oldest_of_some_channel() -> None:
    outbox = three_for_phone_and_one_for_mail()

    outbox.retry(1, NOON, NOON + 20 * SECOND, "busy")
    outbox.retry(3, NOON, NOON + 10 * SECOND, "busy")

    assert outbox.next_due_at() == NOON + 10 * SECOND


def test_a_next_attempt_further_ahead_than_any_plan_is_due_now() -> None:
    outbox = three_for_phone_and_one_for_mail()

    outbox.retry(1, NOON, NOON + FURTHEST + SECOND, "busy")
    outbox.retry(3, NOON, NOON + FURTHEST, "busy")

    assert ids(outbox) == [1, 2, 4]


def test_one_that_is_to_leave_later_holds_nobody_up() -> None:
    outbox = MemoryOutbox()
    outbox.put("phone", an_envelope(1), NOON, leave_at=NOON + 9 * FURTHEST)
    outbox.put("phone", an_envelope(2), NOON, leave_at=NOON + SECOND)

    assert ids(outbox) == []
    assert outbox.next_due_at() == NOON + SECOND
    assert ids(outbox, at_s=1) == [2]
    assert ids(outbox, at_s=9 * FURTHEST.total_seconds()) == [1, 2]


def test_a_broken_one_raises() -> None:
    outbox = three_for_phone_and_one_for_mail()
    outbox.broken = True

    with pytest.raises(OSError, match="disk"):
        outbox.due(NOON, 1)
    with pytest.raises(OSError, match="disk"):
        outbox.sent(1, NOON, "yes", 5)
