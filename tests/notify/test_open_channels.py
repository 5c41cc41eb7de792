"""Channels are made once, and again when their configuration changed."""

from service.notify.channel_config import Json
from service.notify.open_channels import OpenChannels
from tests.notify.fakes import KeepingChannel


class Shelf:
    """Configurations that a test changes, and the channels made of them."""

    def __init__(self) -> None:
        self.configs: dict[str, Json] = {}
        self.made: list[KeepingChannel] = []
        self.open = OpenChannels(self.configs.get, self.make)

    def make(self, config: Json) -> KeepingChannel:
        self.made.append(KeepingChannel())
        return self.made[-1]


def test_a_channel_is_made_once() -> None:
    shelf = Shelf()
    shelf.configs["phone"] = {"kind": "webhook", "url": "https://a"}

    assert shelf.open("phone") is shelf.open("phone")
    assert len(shelf.made) == 1


def test_a_changed_configuration_makes_it_anew_and_closes_the_old_one() -> None:
    shelf = Shelf()
    shelf.configs["phone"] = {"kind": "webhook", "url": "https://a"}
    old = shelf.open("phone")

    shelf.configs["phone"] = {"kind": "webhook", "url": "https://b"}
    new = shelf.open("phone")

    assert new is not old
    assert shelf.made[0].closed
    assert not shelf.made[1].closed


def test_a_channel_that_is_gone_is_closed_and_none() -> None:
    shelf = Shelf()
    shelf.configs["phone"] = {"kind": "webhook", "url": "https://a"}
    shelf.open("phone")

    del shelf.configs["phone"]

    assert shelf.open("phone") is None
    assert shelf.made[0].closed


def test_closing_closes_them_all() -> None:
    shelf = Shelf()
    for name in ("phone", "mail"):
        shelf.configs[name] = {"kind": "webhook", "url": f"https://{name}"}
        shelf.open(name)

    shelf.open.close()

    assert [channel.closed for channel in shelf.made] == [True, True]
