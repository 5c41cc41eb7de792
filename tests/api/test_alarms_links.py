"""Acknowledging from a message: the page a link leads to, and its button."""

import re
from datetime import timedelta
from pathlib import Path

from service.record.marks import read_mark
from service.record.outbox import messages
from tests.rig import PROBE, Rig, rig_in, with_batch

WEBHOOK = {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook"}


def link_in_a_message(rig: Rig) -> str:
    """A batch that strays; returns the path of the link in its message."""
    rig.post("/channels", WEBHOOK)
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 22.6
    rig.until(700)
    with rig.record.reading() as connection:
        text = messages(connection)[0]["text"]
    found = re.search(r"http://127\.0\.0\.1:8330(/acknowledge/\S+)", text)
    assert found is not None, text
    return found[1]


def test_looking_at_a_link_changes_nothing(rig: Rig) -> None:
    link = link_in_a_message(rig)

    pages = [rig.client.get(link) for _ in range(3)]

    assert [page.status_code for page in pages] == [200, 200, 200]
    assert "22.6 C" in pages[0].text
    assert '<form method="post">' in pages[0].text
    assert pages[0].headers["cache-control"] == "no-store"
    assert rig.standing()["above-band"]["state"] == "unacknowledged"


def test_its_button_acknowledges_that_alarm_and_says_who(rig: Rig) -> None:
    link = link_in_a_message(rig)

    page = rig.client.post(link)

    alarm = rig.standing()["above-band"]
    assert page.status_code == 200
    assert "Thank you" in page.text
    assert alarm["state"] == "acknowledged"
    assert alarm["acknowledged_by"] == "a reader of Hall"


def test_a_second_press_is_told_who_was_first(rig: Rig) -> None:
    link = link_in_a_message(rig)
    rig.client.post(link)

    again, looked = rig.client.post(link), rig.client.get(link)

    assert again.status_code == 409
    assert "a reader of Hall has already acknowledged this alarm" in again.text
    assert "Acknowledged already" in looked.text
    assert "<form" not in looked.text


def test_of_two_people_the_second_is_told_of_the_first_whichever_way_they_came(rig: Rig) -> None:
    link = link_in_a_message(rig)
    alarm = rig.standing()["above-band"]["id"]
    rig.post(f"/alarms/{alarm}/acknowledge")

    second = rig.client.post(link)

    assert second.status_code == 409
    assert "the brewer has already acknowledged this alarm" in second.text
    assert rig.standing()["above-band"]["acknowledged_by"] == "the brewer"


def test_an_alarm_that_is_over_has_no_button(rig: Rig) -> None:
    link = link_in_a_message(rig)
    rig.client.post(link)
    rig.source.values[PROBE] = 20.0
    rig.until(900)

    assert "<form" not in rig.client.get(link).text
    assert rig.client.post(link).status_code == 409


def test_a_link_that_is_too_old_or_was_changed_says_so(rig: Rig) -> None:
    link = link_in_a_message(rig)
    changed = link.replace(".", "x.", 1)

    forged = rig.client.post(changed)
    rig.clock.forward(timedelta(days=8).total_seconds())
    late = rig.client.post(link)

    assert (forged.status_code, late.status_code) == (404, 410)
    assert "was changed, or was not made here" in forged.text
    assert "This link ended at" in late.text
    assert rig.standing()["above-band"]["state"] == "unacknowledged"


def test_nonsense_in_place_of_a_token_is_refused(rig: Rig) -> None:
    for token in ("x", "a.b", "%00", "..", "%F0%9F%8D%BA", "a" * 5000):
        assert rig.client.get(f"/acknowledge/{token}").status_code in (404, 410), token


def test_the_page_brings_its_own_style_and_no_script(rig: Rig) -> None:
    page = rig.client.get(link_in_a_message(rig))

    assert "<script" not in page.text
    assert "style=" not in page.text
    sheet = rig.client.get("/acknowledge/style.css")
    assert sheet.headers["content-type"].startswith("text/css")


def test_the_key_is_made_once_and_outlives_a_restart(tmp_path: Path) -> None:
    with rig_in(tmp_path) as first:
        link = link_in_a_message(first)
        clock = first.clock
    with rig_in(tmp_path, 22.6, clock) as second:
        assert second.client.get(link).status_code == 200
        with second.record.reading() as connection:
            assert len(read_mark(connection, "link-key")) == 64


def test_two_installations_do_not_take_each_others_links(tmp_path: Path) -> None:
    (tmp_path / "one").mkdir()
    (tmp_path / "two").mkdir()
    with rig_in(tmp_path / "one") as one, rig_in(tmp_path / "two") as two:
        link = link_in_a_message(one)
        link_in_a_message(two)

        assert two.client.post(link).status_code == 404
        assert two.standing()["above-band"]["state"] == "unacknowledged"
