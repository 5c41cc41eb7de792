"""Listening to a real broker."""

import gc
import json
import math
import socket
import time
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest

from sensors.mqtt.address import broker_address
from sensors.mqtt.handing_on import Item
from sensors.mqtt.source import MqttSource
from sensors.pushed import Wanted
from sensors.sample import ProbeId
from tests.mosquitto import Mosquitto, mosquitto, settle
from tests.running import eventually

pytestmark = pytest.mark.component

AIR, BEER = ProbeId("air"), ProbeId("beer")


@dataclass(frozen=True, slots=True)
class Receipt:
    """What became of a batch."""

    refused: Sequence[tuple[int, str]] = ()


class Shelf:
    """Takes what is handed on and keeps it; does not while it is full."""

    def __init__(self) -> None:
        self.items: list[tuple[ProbeId, datetime, float]] = []
        self.full = False

    def accept(self, probe_id: ProbeId, batch: Sequence[Item]) -> Receipt:
        if self.full:
            raise OSError("the shelf is full")
        assert [index for index, _, _ in batch] == list(range(len(batch)))
        self.items += [(probe_id, at, value_c) for _, at, value_c in batch]
        return Receipt([(index, "out-of-range") for index, _, value_c in batch if value_c > 125])

    def values(self, probe_id: ProbeId) -> list[float]:
        """The values of a probe in the order of their arrival, without what was none."""
        return [c for probe, _, c in self.items if probe == probe_id and not math.isnan(c)]

    def nothings(self, probe_id: ProbeId) -> int:
        """How many messages of a probe held no value."""
        return sum(math.isnan(c) for probe, _, c in self.items if probe == probe_id)


@dataclass
class Heard:
    """A source that listens, what it listens for, and where its values go."""

    source: MqttSource
    wanted: list[Wanted]
    shelf: Shelf

    def connected(self) -> None:
        """Wait until it listens."""
        eventually(lambda: self.source.trouble == "", 15, f"the connection ({self.source.trouble})")

    def value(self, probe_id: ProbeId, count: int = 1) -> list[float]:
        """So many values of a probe, waited for."""
        eventually(lambda: len(self.shelf.values(probe_id)) >= count, 10, f"{count} values of {probe_id}")
        return self.shelf.values(probe_id)


@contextmanager
def listening(url: str, *wanted: Wanted) -> Iterator[Heard]:
    """A source that listens to a broker; it is stopped at the end, which must not take long."""
    declared, shelf = list(wanted), Shelf()
    source = MqttSource(
        broker_address(url),
        lambda: list(declared),
        shelf.accept,
        lambda: datetime.now(UTC),
        time.monotonic,
        lambda: 0.0,
        answer_within_s=2,
    )
    source.start()
    try:
        yield Heard(source, declared, shelf)
    finally:
        began = time.monotonic()
        source.stop()
        assert time.monotonic() - began < 3


@pytest.fixture
def broker(tmp_path: Path) -> Iterator[Mosquitto]:
    with mosquitto(tmp_path / "broker") as made:
        made.start()
        yield made


def url(broker: Mosquitto, who: str = "") -> str:
    return f"mqtt://{who}127.0.0.1:{broker.port}"


def test_values_arrive_for_every_probe_that_wants_them(broker: Mosquitto) -> None:
    air = Wanted(AIR, "cellar/+/state", "air_c", "at")
    beer = Wanted(BEER, "cellar/bucket/state", "probes.0.c")
    payload = {"air_c": 17.5, "probes": [{"c": "19.5"}], "at": "2026-11-20T08:00:00Z"}

    with listening(url(broker), air, beer) as heard:
        heard.connected()
        before = datetime.now(UTC)
        broker.send("cellar/bucket/state", json.dumps(payload))

        assert heard.value(AIR) == [17.5]
        assert heard.value(BEER) == [19.5]

    times = {probe: at for probe, at, _ in heard.shelf.items}
    assert times[AIR] == datetime(2026, 11, 20, 8, tzinfo=UTC)
    assert before <= times[BEER] <= datetime.now(UTC)


def test_garbage_is_counted_with_its_reason_and_the_next_value_is_taken(broker: Mosquitto) -> None:
    with listening(url(broker), Wanted(AIR, "air", "c")) as heard:
        heard.connected()
        broker.send("air", b"\xff\x00", "{", '{"k": 1}', '{"c": "warm"}', "[" * 60_000, '{"c": 18.5}')
        broker.send("air", '{"c": 300}', "x" * 100_000)

        assert heard.value(AIR, 2) == [18.5, 300]
        eventually(lambda: heard.shelf.nothings(AIR) == 6, 5, "the counting of garbage")

    assert heard.source.refused == {
        (AIR, "not-text"): 1,
        (AIR, "not-json"): 2,
        (AIR, "nothing-there"): 1,
        (AIR, "not-a-number"): 1,
        (AIR, "too-long"): 1,
        (AIR, "out-of-range"): 1,
    }
    assert heard.source.sweep(datetime.now(UTC)).notes == (
        "7 values over MQTT were refused, most of air (not-json).",
    )


def test_a_kept_message_is_not_taken_as_now(broker: Mosquitto) -> None:
    broker.send("air", "17.0", retain=True)
    broker.send("beer", '{"c": 19.0, "at": 1795593600}', retain=True)
    broker.send("spoilt", "?", retain=True)
    spoilt = ProbeId("spoilt")

    with listening(
        url(broker), Wanted(AIR, "air"), Wanted(BEER, "beer", "c", "at"), Wanted(spoilt, "spoilt")
    ) as heard:
        heard.connected()
        heard.value(BEER)
        broker.send("air", "18.0", retain=True)

        assert heard.value(AIR) == [18.0]

    assert (BEER, datetime.fromtimestamp(1795593600, UTC), 19.0) in heard.shelf.items
    assert heard.source.refused == {(AIR, "retained"): 1, (spoilt, "not-a-number"): 1}
    assert heard.shelf.nothings(spoilt) == 0


def test_it_listens_again_after_the_broker_was_restarted(broker: Mosquitto) -> None:
    with listening(url(broker), Wanted(AIR, "air")) as heard:
        heard.connected()
        broker.stop()
        eventually(lambda: heard.source.trouble, 5, "the noticing")
        assert "cannot be reached, or the connection broke" in heard.source.sweep(datetime.now(UTC)).trouble
        broker.start()
        heard.connected()
        broker.send("air", "17.0")

        assert heard.value(AIR) == [17.0]


def test_it_begins_when_the_broker_comes_later(tmp_path: Path) -> None:
    with mosquitto(tmp_path / "broker") as late, listening(url(late), Wanted(AIR, "air")) as heard:
        eventually(lambda: "cannot be reached" in heard.source.trouble, 5, "the first failure")
        late.start()
        heard.connected()
        late.send("air", "17.0")

        assert heard.value(AIR) == [17.0]


def test_a_wrong_password_is_said_and_a_right_one_lets_in(tmp_path: Path) -> None:
    with mosquitto(tmp_path / "broker", "bo", "hush-hush") as closed:
        closed.start()
        with listening(url(closed, "bo:wrong-one@"), Wanted(AIR, "air")) as heard:
            eventually(lambda: "refuses user bo" in heard.source.trouble, 5, "the refusal")
            assert "wrong-one" not in heard.source.trouble
        with listening(url(closed), Wanted(AIR, "air")) as heard:
            eventually(lambda: "refuses a caller without a name" in heard.source.trouble, 5, "the refusal")
        with listening(url(closed, "bo:hush-hush@"), Wanted(AIR, "air")) as heard:
            heard.connected()
            closed.send("air", "17.0")

            assert heard.value(AIR) == [17.0]


def test_probes_declared_and_taken_away_are_followed_without_a_new_connection(broker: Mosquitto) -> None:
    with listening(url(broker), Wanted(AIR, "air")) as heard:
        heard.connected()
        heard.wanted[:] = [Wanted(BEER, "beer")]
        settle(2.5)
        broker.send("air", "17.0")
        broker.send("beer", "19.0")

        assert heard.value(BEER) == [19.0]
        assert heard.shelf.values(AIR) == []
    # the broker logs each connection with its keep-alive time; those of senders last 60 s
    assert broker.log.count(", k30)") == 1


def test_it_says_that_it_is_here_and_that_it_is_gone(broker: Mosquitto) -> None:
    with listening(url(broker) + "/cellar", Wanted(AIR, "#")) as heard:
        heard.connected()
        assert broker.kept("cellar/status") == ("online", True)

    assert broker.kept("cellar/status") == ("offline", True)
    assert heard.shelf.items == []
    assert heard.source.refused == {}


def test_what_could_not_be_stored_is_offered_again(broker: Mosquitto) -> None:
    with listening(url(broker), Wanted(AIR, "air")) as heard:
        heard.connected()
        heard.shelf.full = True
        broker.send("air", "17.0", "17.1")
        settle()
        assert heard.shelf.items == []
        heard.shelf.full = False
        broker.send("air", "17.2")

        assert heard.value(AIR, 3) == [17.0, 17.1, 17.2]


def test_a_page_where_the_broker_should_be_is_said_to_be_none() -> None:
    with (
        socket.create_server(("127.0.0.1", 0)) as page,
        listening(f"mqtt://127.0.0.1:{page.getsockname()[1]}") as heard,
    ):
        caller, _ = page.accept()
        with caller:
            caller.sendall(b"HTTP/1.1 400 Bad Request\r\n\r\n")

        eventually(lambda: "connection broke" in heard.source.trouble, 15, "the failure")


def test_a_connection_over_tls_is_made_only_to_a_broker_that_proves_itself(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with mosquitto(tmp_path / "broker", tls=True) as broker:
        broker.start()
        with listening(f"mqtts://127.0.0.1:{broker.tls_port}", Wanted(AIR, "air")) as heard:
            eventually(lambda: "CERTIFICATE_VERIFY_FAILED" in heard.source.trouble, 5, "the distrust")
        with warnings.catch_warnings():
            # paho leaves the socket of a handshake that failed to the collector
            warnings.simplefilter("ignore", ResourceWarning)
            gc.collect()
        monkeypatch.setenv("SSL_CERT_FILE", str(broker.certificate))
        with listening(f"mqtts://127.0.0.1:{broker.tls_port}", Wanted(AIR, "air")) as heard:
            heard.connected()
            broker.send("air", "17.0")

            assert heard.value(AIR) == [17.0]
