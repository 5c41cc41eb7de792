"""Where the broker is."""

import pytest

from sensors.mqtt.address import BrokerAddress, broker_address
from sensors.mqtt.source import MissingLibraryError, load_library


@pytest.mark.parametrize(
    ("url", "address"),
    [
        ("mqtt://127.0.0.1", BrokerAddress("127.0.0.1", 1883)),
        ("mqtts://broker.example/", BrokerAddress("broker.example", 8883, tls=True)),
        ("mqtt://bo:p%40ss%2F@[::1]:1884", BrokerAddress("::1", 1884, user="bo", password="p@ss/")),
        ("mqtt://h/cellar/pi", BrokerAddress("h", 1883, name="cellar/pi")),
    ],
)
def test_an_address_is_read(url: str, address: BrokerAddress) -> None:
    assert broker_address(url) == address


@pytest.mark.parametrize(
    ("url", "words"),
    [
        ("http://bo:hush-hush@h", "mqtt://"),
        ("127.0.0.1:1883", "mqtt://"),
        ("mqtt://", "host"),
        ("mqtt://bo:hush-hush@h:99999", "form"),
        ("mqtt://bo:hush-hush@h:0", "port"),
        ("mqtt://bo:hush-hush/@h", "form"),
        ("mqtt://bo@h?hush-hush", "behind"),
        ("mqtt://:hush-hush@h", "without a user"),
        ("mqtt://h/cellar/+", "plain topic"),
    ],
)
def test_a_wrong_address_is_refused_without_repeating_secrets(url: str, words: str) -> None:
    with pytest.raises(ValueError, match=words) as refused:
        broker_address(url)

    assert "hush-hush" not in str(refused.value)


def test_the_password_is_not_printed() -> None:
    address = broker_address("mqtt://bo:hush-hush@h")

    assert "hush-hush" not in f"{address} {address!r}"


def test_the_status_topic_bears_the_name_behind_the_host() -> None:
    assert broker_address("mqtt://h").status_topic == "gylewatch/status"
    assert broker_address("mqtt://h/cellar").status_topic == "cellar/status"


def test_a_missing_library_is_said_in_one_sentence() -> None:
    with pytest.raises(MissingLibraryError, match=r"no_such_library.*pip install"):
        load_library("no_such_library")
