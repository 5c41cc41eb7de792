import time

import pytest

from service.notify.heartbeat import beat
from service.record.marks import read_mark
from service.watch.heartbeat import Heartbeat
from tests.notify.receivers import Answer, a_port_nobody_listens_on, http_receiver
from tests.rig import Rig
from tests.running import eventually


def setting(rig: Rig, url: str, every_s: float = 60) -> None:
    answer = rig.client.put("/api/v1/heartbeat", json={"url": url, "every_s": every_s})
    assert answer.status_code == 200, answer.text


def test_it_calls_the_address_while_the_watch_goes_round(rig: Rig) -> None:
    with http_receiver(Answer(200)) as receiver:
        setting(rig, receiver.url)
        heartbeat = Heartbeat(rig.record, lambda: True, rig.clock.now)

        wait_s = heartbeat.run_once()

    assert wait_s == 60
    assert len(receiver.received) == 1
    assert heartbeat.last is not None
    assert heartbeat.last.arrived


def test_it_is_silent_when_the_watch_does_not_go_round(rig: Rig) -> None:
    with http_receiver(Answer(200)) as receiver:
        setting(rig, receiver.url)
        heartbeat = Heartbeat(rig.record, lambda: bool(rig.watch.health()["ready"]), rig.clock.now)

        heartbeat.run_once()
        before = len(receiver.received)
        rig.watch.round()
        heartbeat.run_once()
        while_well = len(receiver.received)
        rig.clock.forward(600)
        heartbeat.run_once()

    assert (before, while_well, len(receiver.received)) == (0, 1, 1)


def test_without_an_address_nothing_is_called(rig: Rig) -> None:
    heartbeat = Heartbeat(rig.record, lambda: True, rig.clock.now)

    heartbeat.run_once()

    assert heartbeat.last is None


def test_a_far_end_that_is_away_is_kept_as_it_was_found(rig: Rig) -> None:
    setting(rig, f"http://127.0.0.1:{a_port_nobody_listens_on()}/token-abcdef")
    heartbeat = Heartbeat(rig.record, lambda: True, rig.clock.now)

    heartbeat.run_once()

    assert heartbeat.last is not None
    assert not heartbeat.last.arrived
    assert "token-abcdef" not in heartbeat.last.words


def test_its_own_thread_sends_as_soon_as_it_is_told_of_an_address(rig: Rig) -> None:
    heartbeat = Heartbeat(rig.record, lambda: True, rig.clock.now, beat)
    with http_receiver(Answer(200)) as receiver:
        heartbeat.start()
        time.sleep(0.05)
        setting(rig, receiver.url)
        heartbeat.look_again()

        eventually(lambda: receiver.received, 5, "the sign of life")
        heartbeat.stop()


def test_the_address_is_shown_masked_and_may_come_back_so(rig: Rig) -> None:
    setting(rig, "https://example.org/ping/secret-token")

    shown = rig.get("/heartbeat")
    setting(rig, shown["url"], every_s=120)

    assert shown == {"url": "https://example.org/***", "every_s": 60.0, "last": None}
    assert rig.get("/heartbeat")["every_s"] == 120
    with rig.record.reading() as connection:
        assert read_mark(connection, "heartbeat")["url"] == "https://example.org/ping/secret-token"


def test_it_is_taken_away(rig: Rig) -> None:
    setting(rig, "https://example.org/ping")

    assert rig.client.delete("/api/v1/heartbeat").status_code == 204
    assert rig.client.get("/api/v1/heartbeat").status_code == 404
    assert rig.client.delete("/api/v1/heartbeat").status_code == 404


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"url": "htps://example.org/ping"}, "/url"),
        ({"url": "example.org"}, "/url"),
        ({"url": "https://example.org/***"}, "/url"),
        ({"url": ""}, "/url"),
        ({"every_s": 60}, "/url"),
        ({"url": "https://example.org/ping", "every_s": 1}, "/every_s"),
        ({"url": "https://example.org/ping", "every_s": 1e9}, "/every_s"),
        ({"url": "https://example.org/ping", "often": True}, "/often"),
    ],
)
def test_a_setting_with_a_mistake_is_refused(rig: Rig, body: dict[str, object], field: str) -> None:
    answer = rig.client.put("/api/v1/heartbeat", json=body)

    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == field
