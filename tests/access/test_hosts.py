import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.access.hosts import (
    asked_through,
    host_of,
    is_loopback,
    is_ours,
    machine_names,
    networks,
)

PROXY = networks(["10.0.0.2", "127.0.0.1"])


@pytest.mark.parametrize(
    ("header", "host"),
    [
        ("localhost:8330", "localhost"),
        ("BEER.home.", "beer.home"),
        ("[::1]:80", "::1"),
        ("192.0.2.7", "192.0.2.7"),
        ("a@b", None),
        ("a/b", None),
        ("a b", None),
        ("[::1", None),
        ("::1", None),
        ("a:b", None),
        ("a:123456", None),
        ("", None),
        ("[evil.example]", None),
    ],
)
def test_a_host_header_is_a_name_and_nothing_else(header: str, host: str | None) -> None:
    assert host_of(header) == host


@settings(max_examples=100)
@given(st.text(max_size=60))
def test_no_header_breaks_the_reading(header: str) -> None:
    host = host_of(header)

    assert host is None or host == host.lower()
    assert is_ours(host or "", "192.0.2.7", ()) in (True, False)


@pytest.mark.parametrize(
    ("host", "here"),
    [
        ("localhost", True),
        ("127.3.4.5", True),
        ("::1", True),
        ("::ffff:127.0.0.1", True),
        ("192.0.2.7", False),
    ],
)
def test_loopback_is_told_from_the_rest(host: str, here: bool) -> None:
    assert is_loopback(host) is here


@pytest.mark.parametrize(
    ("hostname", "names"),
    [
        ("raspberrypi", {"raspberrypi", "raspberrypi.local"}),
        ("Pi.Home.", {"pi.home", "pi.local"}),
        ("", set()),
        ("192.0.2.7", set()),
        ("evil/..", set()),
    ],
)
def test_a_machine_goes_by_its_own_name(hostname: str, names: set[str]) -> None:
    assert machine_names(hostname) == names


@pytest.mark.parametrize(
    ("peer", "forwarded", "asked"),
    [
        ("10.0.0.2", "203.0.113.9", "203.0.113.9"),
        ("10.0.0.2", "198.51.100.1, 203.0.113.9", "203.0.113.9"),
        ("10.0.0.2", "203.0.113.9, 127.0.0.1", "203.0.113.9"),
        ("10.0.0.2", "203.0.113.9:4711", "203.0.113.9"),
        ("10.0.0.2", "[2001:db8::1]:4711", "2001:db8::1"),
        ("10.0.0.2", "unknown", "10.0.0.2"),
        ("10.0.0.2", "203.0.113.9, garbage", "10.0.0.2"),
        ("10.0.0.2", "", "10.0.0.2"),
        ("203.0.113.5", "198.51.100.1", "203.0.113.5"),
    ],
)
def test_the_peer_is_the_last_address_that_no_trusted_proxy_wrote(
    peer: str, forwarded: str, asked: str
) -> None:
    assert asked_through(peer, "http", PROXY, [("x-forwarded-for", forwarded)]).peer == asked


def test_scheme_and_host_are_those_said_last() -> None:
    said = [
        ("x-forwarded-proto", "http"),
        ("x-forwarded-proto", "HTTPS"),
        ("x-forwarded-host", "evil.example, beer.example"),
    ]

    asked = asked_through("10.0.0.2", "http", PROXY, said)

    assert (asked.scheme, asked.host) == ("https", "beer.example")
    assert asked_through("10.0.0.2", "http", PROXY, [("x-forwarded-proto", "gopher")]).scheme == "http"
