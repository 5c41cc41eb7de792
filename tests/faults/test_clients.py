"""Clients that misbehave: slow readers, idle connections, garbage, and malformed requests made by chance."""

import json
import socket
import time
from collections.abc import Iterator
from contextlib import ExitStack
from datetime import UTC, datetime
from typing import Any
from urllib.parse import quote

import httpx
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from tests.running import Running, eventually

pytestmark = pytest.mark.fault

IDLE = 200
SLOW = 8
MALFORMED = 2000
GARBAGE = 100
ANSWERS_WITHIN_S = 2.0
VERBS = ("get", "post", "put", "patch", "delete")


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """One program for all of this; with something in it to be asked for."""
    with Running(tmp_path_factory.mktemp("clients") / "data", log="warning") as started:
        started.post("/vessels", {"name": "Bucket", "volume_l": 5})
        started.post("/probes", {"label": "Far bucket", "source": "pushed", "interval_s": 60})
        yield started


def connected(running: Running, said: bytes, small: bool = False) -> socket.socket:
    """A connection on which so much was said, and from which nothing is read."""
    client = socket.socket()
    if small:
        client.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 2048)
    client.settimeout(5)
    client.connect(("127.0.0.1", running.port))
    client.sendall(said)
    return client


def answers(running: Running) -> float:
    """Seconds that an answer takes on a new connection; it must be right."""
    began = time.monotonic()
    with httpx.Client(base_url=running.url, timeout=10) as client:
        # not which vessels there are: a request that was made up may have taken one away
        made = client.post("/api/v1/vessels", json={"name": "Asked"}).json()["id"]
        assert client.get(f"/api/v1/vessels/{made}").json()["name"] == "Asked"
        assert client.delete(f"/api/v1/vessels/{made}").status_code == 204
    return time.monotonic() - began


def hold(running: Running, held: ExitStack, how_many: int) -> None:
    """So many connections that say nothing, half a request, or less than they promised."""
    half = b"POST /api/v1/vessels HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n"
    short_of_its_body = half + b"Content-Length: 4000\r\n\r\n{"
    for n in range(how_many):
        held.enter_context(connected(running, (b"", half, short_of_its_body)[n % 3]))


def test_idle_connections_and_half_requests_hold_nobody_up(running: Running) -> None:
    with ExitStack() as held:
        hold(running, held, IDLE)
        took_s = answers(running)
        rounds = running.client.get("/readyz").json()["rounds"]
        eventually(lambda: running.client.get("/readyz").json()["rounds"] > rounds, 10, "another round")

    assert took_s < ANSWERS_WITHIN_S
    assert len(running.get("/vessels")["items"]) == 1


def test_readers_that_take_nothing_of_what_happens_hold_nobody_up(running: Running) -> None:
    probe = running.get("/probes")["items"][0]["id"]
    asks = b"GET /api/v1/events HTTP/1.1\r\nHost: 127.0.0.1:%d\r\n\r\n" % running.port
    with ExitStack() as held:
        for _ in range(SLOW):
            held.enter_context(connected(running, asks, small=True))
        eventually(lambda: running.client.get("/readyz").json()["open_pages"] == SLOW, 10, "the open pages")

        took_s = answers(running)
        slowest_s = max(pushed_within_s(running, probe) for _ in range(60))

    assert took_s < ANSWERS_WITHIN_S
    assert slowest_s < ANSWERS_WITHIN_S
    eventually(lambda: running.client.get("/readyz").json()["open_pages"] == 0, 20, "that all are gone")


def pushed_within_s(running: Running, probe: str) -> float:
    """Seconds that a push takes which every open page is told of."""
    began = time.monotonic()
    at = datetime.now(UTC).isoformat()
    running.post(f"/probes/{probe}/samples", {"samples": [{"at": at, "temp_c": 20.0}]})
    return time.monotonic() - began


TEXTS = st.one_of(
    st.text(max_size=20),
    st.sampled_from(
        ["bucket", "", " ", "../..", "%00", "28-00000a1b2c3d", "9" * 400, str(2**63), "rehearse"]
    ),
)
NUMBERS = st.one_of(
    st.integers(),
    st.floats(allow_nan=False, allow_infinity=False),
    st.sampled_from([0, -1, 1e308, 10**400, 1.5, -273.16]),
)
VALUES = st.recursive(
    st.none() | st.booleans() | NUMBERS | TEXTS | st.just("2026-11-25T08:00:00Z"),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)
RAW = st.sampled_from(
    [b"", b"{", b"\xff\xfe{}", b"[[[[[[" * 200, b'{"a": NaN}', b'{"a": 1e400}', b'{"a": "\\ud800"}', b"null"]
)
HEADERS = st.dictionaries(
    st.sampled_from(["If-Match", "Idempotency-Key", "Last-Event-ID", "Accept", "Content-Type", "Range"]),
    st.text(st.characters(min_codepoint=33, max_codepoint=126), min_size=1, max_size=30),
    max_size=2,
)


def calls_of(running: Running) -> list[tuple[str, str, list[str]]]:
    """Every call of the API as it describes itself, with the members its body may have."""
    described = running.client.get("/api/v1/openapi.json").json()
    return [
        (verb, path, members(described, verbs[verb]))
        for path, verbs in described["paths"].items()
        # not a stream without an end, nor a message that would leave
        if not path.endswith(("/events", "/test"))
        for verb in VERBS
        if verb in verbs
    ]


def members(described: dict[str, Any], call: dict[str, Any]) -> list[str]:
    """The names in the body of a call, of all its shapes."""
    content = call.get("requestBody", {}).get("content", {}).get("application/json", {})
    waiting, names = [content.get("schema", {})], set[str]()
    while waiting:
        shape = waiting.pop()
        if "$ref" in shape:
            waiting.append(described["components"]["schemas"][shape["$ref"].rsplit("/", 1)[1]])
        waiting += [*shape.get("anyOf", ()), *shape.get("oneOf", ()), *shape.get("allOf", ())]
        names |= set(shape.get("properties", {}))
    return sorted(names)


def filled(path: str, data: st.DataObject) -> str:
    """A path with something in place of its names."""
    return "/".join(
        quote(data.draw(TEXTS | NUMBERS.map(repr), label=part), safe="", errors="replace")
        if part.startswith("{")
        else part
        for part in path.split("/")
    )


def ask_malformed(running: Running, how_often: int) -> dict[int, int]:
    """Ask so many malformed requests; how often each status came. A failure of the program is an error."""
    calls = calls_of(running)
    seen: dict[int, int] = {}

    @given(data=st.data())
    @settings(
        max_examples=how_often,
        deadline=None,
        database=None,
        derandomize=True,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    def ask(data: st.DataObject) -> None:
        verb, path, names = data.draw(st.sampled_from(calls))
        url = filled(path, data)
        headers = {"Content-Type": "application/json", **data.draw(HEADERS)}
        keys = st.sampled_from(names) if names else st.text(max_size=5)
        bodies = st.dictionaries(keys, VALUES, max_size=6) | VALUES
        content: Any = None
        if verb in ("post", "put", "patch"):
            content = data.draw(RAW | bodies.map(as_json))
        query = data.draw(st.dictionaries(st.sampled_from(["limit", "cursor", "at", "from", "hours"]), TEXTS))

        answer = running.client.request(verb, url, params=query, content=content, headers=headers)

        seen[answer.status_code] = seen.get(answer.status_code, 0) + 1
        assert answer.status_code < 500, (verb, url, query, headers, content, answer.text)
        if answer.status_code >= 400:
            assert answer.headers["content-type"] == "application/problem+json", (verb, url, answer.text)
            assert answer.json()["status"] == answer.status_code

    ask()
    return seen


def test_no_malformed_request_makes_the_program_fail(running: Running) -> None:
    seen = ask_malformed(running, MALFORMED)

    assert sum(seen.values()) >= MALFORMED
    assert {404, 422} <= seen.keys()
    assert "Traceback" not in running.log
    assert running.client.get("/readyz").status_code == 200


def as_json(value: Any) -> bytes:
    """A value as JSON, with what JSON does not know."""
    return json.dumps(value).encode("utf-8", "surrogatepass")


def test_garbage_on_the_wire_ends_its_own_connection_only(running: Running) -> None:
    @given(
        st.binary(max_size=300), st.sampled_from([b"", b"GET / HTTP/1.1\r\n", b"\x16\x03\x01", b"\r\n\r\n"])
    )
    @settings(max_examples=GARBAGE, deadline=None, database=None, derandomize=True, phases=[Phase.generate])
    def shout(noise: bytes, first: bytes) -> None:
        with connected(running, first + noise + b"\r\n\r\n") as client:
            client.settimeout(0.02)
            try:
                said = client.recv(200)
            except (TimeoutError, ConnectionError):
                return
        assert not said.startswith(b"HTTP/1.1 5"), (first, noise, said)

    shout()

    assert answers(running) < ANSWERS_WITHIN_S
    assert "Traceback" not in running.log
