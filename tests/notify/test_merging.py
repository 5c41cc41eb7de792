"""Old messages leave together, with their original times."""

from dataclasses import replace
from datetime import timedelta
from zoneinfo import ZoneInfo

from hypothesis import given
from hypothesis import strategies as st

from service.notify.envelope import payload
from service.notify.merging import MOST_MERGED, merge_old
from service.notify.outbox import Delivery
from tests.notify.samples import NOON, an_envelope

LATER = NOON + timedelta(hours=3)


def waiting(n: int, *, minutes_old: float = 120, attempts: int = 0, vessel: str = "bucket") -> Delivery:
    at = LATER - timedelta(minutes=minutes_old)
    return Delivery(n, "phone", an_envelope(n, at=at, vessel=vessel), attempts, at, at if attempts else None)


def test_old_messages_become_one_with_their_original_times() -> None:
    deliveries = [waiting(1, minutes_old=150), waiting(2, minutes_old=61), waiting(3, minutes_old=15)]

    (parcel,) = merge_old(deliveries, LATER)

    assert parcel.deliveries == tuple(deliveries)
    assert (
        parcel.envelope.title
        == "3 messages that could not leave, 2026-11-25 12:30 UTC to 2026-11-25 14:45 UTC"
    )
    for delivery, written in zip(deliveries, ("12:30", "13:59", "14:45"), strict=True):
        assert f"2026-11-25 {written} UTC: {delivery.envelope.title}" in parcel.envelope.text
        assert delivery.envelope.text in parcel.envelope.text
    assert parcel.envelope.at == deliveries[2].envelope.at
    assert parcel.envelope.reason == "merged"
    assert parcel.envelope.vessel == "bucket"
    assert [alarm["id"] for alarm in payload(parcel.envelope)["alarms"]] == ["a-1", "a-2", "a-3"]  # type: ignore[attr-defined]


def test_times_are_written_in_the_zone_that_is_asked_for() -> None:
    (parcel,) = merge_old([waiting(1), waiting(2)], LATER, ZoneInfo("Europe/Berlin"))

    assert "2026-11-25 14:00 CET" in parcel.envelope.text


def test_an_old_message_alone_stays_as_it_is() -> None:
    delivery = waiting(1)

    (parcel,) = merge_old([delivery], LATER)

    assert parcel.envelope is delivery.envelope


def test_new_messages_are_not_merged() -> None:
    deliveries = [waiting(1, minutes_old=9.9), waiting(2, minutes_old=1)]

    parcels = merge_old(deliveries, LATER)

    assert [parcel.envelope for parcel in parcels] == [delivery.envelope for delivery in deliveries]


def test_what_failed_before_goes_first_unchanged_and_the_rest_follows_merged() -> None:
    deliveries = [waiting(1, attempts=4), waiting(2), waiting(3), waiting(4, minutes_old=2)]

    parcels = merge_old(deliveries, LATER)

    assert [len(parcel.deliveries) for parcel in parcels] == [1, 2, 1]
    assert parcels[0].envelope is deliveries[0].envelope
    assert parcels[2].envelope is deliveries[3].envelope


def test_messages_of_several_vessels_name_none() -> None:
    (parcel,) = merge_old([waiting(1), waiting(2, vessel="kettle")], LATER)

    assert parcel.envelope.vessel is None


def test_an_alarm_in_several_messages_is_listed_once_as_it_was_last() -> None:
    first, second = waiting(1), waiting(1, minutes_old=30)

    (parcel,) = merge_old([first, second], LATER)

    assert parcel.envelope.alarms == (second.envelope.alarms[0],)


def test_a_long_list_falls_back_to_titles() -> None:
    wordy = [waiting(n) for n in range(1, MOST_MERGED + 1)]
    deliveries = [
        replace(d, envelope=replace(d.envelope, title=d.envelope.title + "!" * 200, text="word " * 40))
        for d in wordy
    ]

    (parcel,) = merge_old(deliveries, LATER)

    assert len(parcel.envelope.text) < 4096
    assert "word" not in parcel.envelope.text
    for delivery in wordy:
        assert f"2026-11-25 13:00 UTC: {delivery.envelope.title}!!" in parcel.envelope.text


def test_the_same_messages_make_the_same_id_and_others_another() -> None:
    ids = [merge_old([waiting(n) for n in range(1, last)], LATER)[0].envelope.id for last in (4, 4, 5)]

    assert ids[0] == ids[1]
    assert ids[1] != ids[2]


@given(st.lists(st.tuples(st.floats(0, 600), st.integers(0, 3)), max_size=80))
def test_every_delivery_leaves_once_and_in_order(ages: list[tuple[float, int]]) -> None:
    deliveries = [waiting(n, minutes_old=age, attempts=tries) for n, (age, tries) in enumerate(ages)]

    parcels = merge_old(deliveries, LATER)

    assert [d for parcel in parcels for d in parcel.deliveries] == deliveries
    assert all(1 <= len(parcel.deliveries) <= MOST_MERGED for parcel in parcels)
    for parcel in parcels:
        assert all(delivery.envelope.title in parcel.envelope.text for delivery in parcel.deliveries[1:])
