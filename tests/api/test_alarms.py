"""Alarms over HTTP: listed, acknowledged, shelved; and what is refused, with its words."""

from typing import Any

import pytest
from sqlalchemy import delete

from service.record.keeping import configuration, put_back
from service.record.tables import mark
from tests.rig import PROBE, Rig, rig_in, with_batch


def standing_alarm(rig: Rig) -> str:
    """A batch that strays; returns the alarm's id."""
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 22.6
    rig.until(700)
    return str(rig.standing()["above-band"]["id"])


def test_acknowledging_twice_names_who_was_first_and_when(rig: Rig) -> None:
    alarm = standing_alarm(rig)
    rig.post(f"/alarms/{alarm}/acknowledge", {"note": "on my way"})

    again = rig.post(f"/alarms/{alarm}/acknowledge", expect=409)

    assert again["detail"].startswith("the brewer has already acknowledged this alarm at 2026-11-25 08:")
    history = rig.get(f"/alarms/{alarm}")["transitions"]
    assert [t["event"] for t in history] == ["raised", "acknowledged"]
    assert history[1]["cause"] == "Acknowledged by the brewer: on my way"
    assert history[0]["numbers"]["over_c"] == pytest.approx(1.1)


def test_an_alarm_that_is_over_cannot_be_handled(rig: Rig) -> None:
    alarm = standing_alarm(rig)
    rig.post(f"/alarms/{alarm}/acknowledge")
    rig.source.values[PROBE] = 20.0
    rig.until(900)

    for what, body in (("acknowledge", None), ("shelve", {"for_s": 60, "reason": "x"}), ("unshelve", None)):
        assert "is over" in rig.post(f"/alarms/{alarm}/{what}", body, expect=409)["detail"]


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"for_s": 86401, "reason": "for ever"}, "/for_s"),
        ({"for_s": 1e300, "reason": "for ever"}, "/for_s"),
        ({"for_s": 59, "reason": "short"}, "/for_s"),
        ({"for_s": 0, "reason": "x"}, "/for_s"),
        ({"for_s": None, "reason": "for ever"}, "/for_s"),
        ({"reason": "for ever"}, "/for_s"),
        ({"for_s": 600}, "/reason"),
        ({"for_s": 600, "reason": "   "}, "/reason"),
        ({"for_s": "600", "reason": "x"}, "/for_s"),
        ({"for_s": True, "reason": "x"}, "/for_s"),
    ],
)
def test_a_shelf_without_an_end_or_a_reason_is_refused(rig: Rig, body: dict[str, Any], field: str) -> None:
    alarm = standing_alarm(rig)

    answer = rig.post(f"/alarms/{alarm}/shelve", body, expect=422)

    assert answer["errors"][0]["field"] == field
    assert answer["errors"][0]["remedy"]
    assert rig.standing()["above-band"]["shelved_until"] is None


def test_a_shelf_is_listed_and_ends_by_itself(rig: Rig) -> None:
    alarm = standing_alarm(rig)
    shelved = rig.post(f"/alarms/{alarm}/shelve", {"for_s": 600, "reason": "Ice is on its way"})

    rig.until(500)
    during = rig.standing()["above-band"]
    rig.until(120)

    assert during["shelved_until"] == shelved["shelved_until"] is not None
    assert rig.standing()["above-band"]["shelved_until"] is None
    assert [t["event"] for t in rig.get(f"/alarms/{alarm}")["transitions"]] == [
        "raised",
        "shelved",
        "unshelved",
    ]


def test_unshelving_what_is_not_shelved_is_refused(rig: Rig) -> None:
    alarm = standing_alarm(rig)

    assert "not shelved" in rig.post(f"/alarms/{alarm}/unshelve", expect=409)["detail"]


@pytest.mark.parametrize("name", ["a-999999", "a-", "1", "a-1e3", "a--1", "a-9999999999999999999", "A-1"])
def test_an_alarm_that_is_not_there_is_not_found(rig: Rig, name: str) -> None:
    assert rig.client.get(f"/api/v1/alarms/{name}").status_code == 404
    rig.post(f"/alarms/{name}/acknowledge", expect=404)


def test_alarms_are_listed_newest_first_page_by_page(rig: Rig) -> None:
    with_batch(rig)
    rig.source.values[PROBE] = None
    rig.until(60)
    rig.source.values[PROBE] = 20.0
    rig.until(200)
    rig.source.values[PROBE] = 22.6
    rig.until(700)

    first = rig.get("/alarms", limit=1)
    second = rig.get("/alarms", limit=1, cursor=first["next"])

    assert [a["key"] for a in first["items"] + second["items"]] == ["above-band", "no-reading"]
    assert second["next"] is None
    assert rig.get("/alarms", vessel_id="nowhere")["items"] == []


def test_a_set_clock_neither_raises_nor_clears_what_stands(rig: Rig) -> None:
    standing_alarm(rig)
    before = rig.standing()["above-band"]

    rig.clock.at = rig.clock.at.replace(hour=20)
    rig.rounds(3)
    ahead = rig.standing()["above-band"]
    rig.clock.at = rig.clock.at.replace(hour=2)
    rig.rounds(3)

    assert ahead["state"] == rig.standing()["above-band"]["state"] == "unacknowledged"
    assert ahead["id"] == before["id"] == rig.standing()["above-band"]["id"]


def test_absences_work_and_the_sign_of_life_outlive_a_record_that_was_set_aside(tmp_path: Any) -> None:
    (tmp_path / "old").mkdir()
    (tmp_path / "new").mkdir()
    with rig_in(tmp_path / "old") as old:
        with_batch(old)
        old.post("/channels", {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook"})
        away = {"from": "2026-11-26T00:00:00Z", "to": "2026-11-28T00:00:00Z", "channel_id": "hall"}
        old.post("/absences", away)
        old.post("/vessels/bucket/working", {"for_s": 3600, "reason": "Racking"})
        old.client.put("/api/v1/heartbeat", json={"url": "https://example.org/ping"})
        with old.record.reading() as connection:
            kept = configuration(connection)
    with rig_in(tmp_path / "new") as new:
        new.record.write(lambda connection: put_back_over(connection, kept))
        new.watch.reload()

        assert new.get("/absences")["items"][0]["channel_id"] == "hall"
        assert new.get("/vessels/bucket/working")["reason"] == "Racking"
        assert new.get("/heartbeat")["url"] == "https://example.org/***"


def put_back_over(connection: Any, kept: Any) -> None:
    """As into an empty record: the new one has made a key of its own by now, which the old one replaces."""
    connection.execute(delete(mark))
    put_back(connection, kept)
