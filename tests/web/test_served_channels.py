"""When a channel speaks, settled by form on the real desk."""

import pytest

from tests.rig import Rig
from tests.web.served_pages import page, refused, send
from tests.web.visitor import Visitor

NEW = {"name": "My phone", "kind": "webhook", "url": "http://127.0.0.1:9/hook"}
EVERY = {"quiet_hours/every-day/from": "22:00", "quiet_hours/every-day/to": "07:00"}
SUNDAY = {"quiet_hours/sunday/from": "21:00", "quiet_hours/sunday/to": "09:30"}


def kept(rig: Rig) -> dict[str, object]:
    (channel,) = rig.get("/channels")["items"]
    return {name: channel[name] for name in ("quiet_hours", "least_priority")}


def test_a_channel_is_made_with_its_quiet_hours_and_least_priority(rig: Rig, visitor: Visitor) -> None:
    send(visitor, "/settings", "/channels", **NEW, **EVERY, **SUNDAY, least_priority="medium")

    assert kept(rig) == {
        "quiet_hours": {
            "every-day": {"from": "22:00", "to": "07:00"},
            "sunday": {"from": "21:00", "to": "09:30"},
        },
        "least_priority": "medium",
    }
    words = page(visitor, "/settings").one("article").text
    assert "Quiet every day from 22:00 to 07:00, on Sunday from 21:00 to 09:30." in words


def test_without_quiet_hours_it_has_none(rig: Rig, visitor: Visitor) -> None:
    send(visitor, "/settings", "/channels", **NEW)

    assert kept(rig) == {"quiet_hours": None, "least_priority": "low"}


@pytest.mark.parametrize(
    "typed",
    [
        {"quiet_hours/monday/from": "22:00", "quiet_hours/monday/to": ""},
        {"quiet_hours/monday/from": "22:00", "quiet_hours/monday/to": "22:00"},
        {"quiet_hours/monday/from": "ten", "quiet_hours/monday/to": "07:00"},
    ],
)
def test_a_quiet_time_that_is_none_is_said_beside_its_day(
    rig: Rig, visitor: Visitor, typed: dict[str, str]
) -> None:
    back = refused(visitor, "/settings", "/channels", **NEW, **EVERY, **typed)

    assert back.one(id="f-monday-wrong").text
    assert back.one("input", id="f-monday-from").attributes["value"] == typed["quiet_hours/monday/from"]
    assert back.one("input", id="f-every-day-to").attributes["value"] == "07:00"
    assert "open" in back.one("details", id="f-weekdays").attributes
    assert back.one("input", id="f-name").attributes["value"] == "My phone"
    assert rig.get("/channels")["items"] == []


def test_quiet_hours_are_changed_and_taken_away_later(rig: Rig, visitor: Visitor) -> None:
    send(visitor, "/settings", "/channels", **NEW, **EVERY)

    send(visitor, "/settings", "/channels/my-phone/when", **SUNDAY, least_priority="high")
    both = {"every-day": {"from": "22:00", "to": "07:00"}, "sunday": {"from": "21:00", "to": "09:30"}}
    assert kept(rig) == {"quiet_hours": both, "least_priority": "high"}
    nothing = dict.fromkeys((*EVERY, *SUNDAY), "")
    send(visitor, "/settings", "/channels/my-phone/when", **nothing)

    assert kept(rig) == {"quiet_hours": None, "least_priority": "high"}


def test_a_wrong_change_comes_back_at_its_own_channel_alone(rig: Rig, visitor: Visitor) -> None:
    send(visitor, "/settings", "/channels", **NEW, **EVERY)

    half = {"quiet_hours/friday/from": "23:00"}
    back = refused(visitor, "/settings", "/channels/my-phone/when", **half)

    assert back.one(id="w-my-phone-friday-wrong").text
    assert back.all(id="f-friday-wrong") == []
    assert back.one("input", id="w-my-phone-friday-from").attributes["value"] == "23:00"
    assert kept(rig)["quiet_hours"] == {"every-day": {"from": "22:00", "to": "07:00"}}


def test_a_daily_message_and_a_helper_s_channel_are_settled_and_taken_back(
    rig: Rig, visitor: Visitor
) -> None:
    send(visitor, "/settings", "/channels", **NEW, digest_at="08:00", for_helper="yes")
    (made,) = rig.get("/channels")["items"]
    shown = page(visitor, "/settings")
    send(visitor, "/settings", "/channels/my-phone/when", digest_at="")
    (changed,) = rig.get("/channels")["items"]

    assert (made["digest_at"], made["for_helper"]) == ("08:00", True)
    assert "A message a day at 08:00. For a helper, while you are away." in shown.text
    assert shown.one("input", id="w-my-phone-digest_at").attributes["value"] == "08:00"
    assert "checked" in shown.one("input", id="w-my-phone-for_helper").attributes
    assert (changed["digest_at"], changed["for_helper"]) == (None, False)


def test_a_time_of_day_that_is_none_is_said_beside_it(rig: Rig, visitor: Visitor) -> None:
    back = refused(visitor, "/settings", "/channels", **NEW, digest_at="25:00", for_helper="yes")

    assert "such as 08:00" in back.one(id="f-digest_at-wrong").text
    assert back.one("input", id="f-digest_at").attributes["value"] == "25:00"
    assert "checked" in back.one("input", id="f-for_helper").attributes
    assert rig.get("/channels")["items"] == []
