"""A sign of life to real receivers."""

import logging
import time

import pytest

from service.errors import InvalidInputError
from service.notify.bounded import Patience
from service.notify.heartbeat import beat
from tests.notify.receivers import Answer, Certificate, a_port_nobody_listens_on, http_receiver

QUICK = Patience(step_s=0.3, whole_s=1.0)


@pytest.mark.component
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_it_calls_the_address_and_says_so(method: str) -> None:
    with http_receiver() as receiver:
        result = beat(receiver.url, "GET" if method == "GET" else "POST", patience=QUICK)

    assert [(got.method, got.path, got.body) for got in receiver.received] == [(method, "/hook", b"")]
    assert result.arrived
    assert result.words == "200 OK"


@pytest.mark.component
@pytest.mark.parametrize("status", [302, 404, 500])
def test_anything_but_2xx_did_not_arrive(status: int) -> None:
    with http_receiver(Answer(status)) as receiver:
        result = beat(receiver.url, patience=QUICK)

    assert not result.arrived
    assert result.words.startswith(str(status))


@pytest.mark.component
def test_a_far_end_that_is_slow_or_away_is_a_result() -> None:
    with http_receiver(Answer(after_s=5)) as receiver:
        began = time.monotonic()
        slow = beat(receiver.url, patience=QUICK)
        took_s = time.monotonic() - began
    away = beat(f"http://127.0.0.1:{a_port_nobody_listens_on()}/", patience=QUICK)

    assert not slow.arrived
    assert "did not answer within 0.3 s" in slow.words
    assert took_s < 0.95
    assert not away.arrived
    assert "no connection" in away.words


@pytest.mark.component
def test_it_trusts_only_whom_it_is_told_to(certificate: Certificate) -> None:
    with http_receiver(certificate=certificate) as receiver:
        strange = beat(receiver.url, patience=QUICK)
        known = beat(receiver.url, patience=QUICK, tls=certificate.trusting())

    assert not strange.arrived
    assert known.arrived


@pytest.mark.component
def test_the_address_is_in_no_log(caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.DEBUG)
    with http_receiver() as receiver:
        beat(f"{receiver.url}/t0psecret", patience=QUICK)

    assert receiver.received[0].path == "/hook/t0psecret"
    assert "t0psecret" not in caplog.text


@pytest.mark.parametrize("url", ["htps://example.org/", "example.org/ping", "http://"])
def test_an_address_that_is_none_is_refused(url: str) -> None:
    with pytest.raises(InvalidInputError):
        beat(url)
