"""Working, out of service, absences and signs of life by form, on the real desk."""

import pytest

from tests.rig import Rig, with_batch
from tests.web.served_pages import page, refused, send
from tests.web.visitor import Visitor

HOOK = {"kind": "webhook", "url": "http://127.0.0.1:9/hook"}
AWAY = {"from": "2026-11-26T08:00", "to": "2026-11-28T20:00", "channel_id": "neighbour", "note": "Key: pot"}


@pytest.fixture
def brewing(rig: Rig) -> Rig:
    with_batch(rig)
    rig.post("/channels", {**HOOK, "name": "Neighbour", "for_helper": True})
    return rig


def test_somebody_works_for_a_while_and_is_done(brewing: Rig, visitor: Visitor) -> None:
    send(visitor, "/quiet", "/working", vessel_id="bucket", for_s="7200", reason="Racking")

    assert brewing.get("/vessels/bucket/working")["until"] == "2026-11-25T10:00:00Z"
    assert page(visitor, "/quiet").one("h1").text == "One vessel is being worked at."
    send(visitor, "/quiet", "/working/bucket/done")
    assert brewing.client.get("/api/v1/vessels/bucket/working").status_code == 404


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"vessel_id": "", "reason": "Racking"}, "vessel_id"),
        ({"vessel_id": "bucket", "reason": " "}, "reason"),
        ({"vessel_id": "bucket", "reason": "Racking", "for_s": "90000"}, "for_s"),
    ],
)
def test_wrong_work_is_said_beside_its_field_and_nothing_typed_is_lost(
    brewing: Rig, visitor: Visitor, typed: dict[str, str], field: str
) -> None:
    back = refused(visitor, "/quiet", "/working", **typed)

    assert back.one(id=f"k-{field}-wrong").text
    assert back.one("input", id="k-reason").attributes["value"] == typed["reason"]
    assert brewing.client.get("/api/v1/vessels/bucket/working").status_code == 404


def test_an_alarm_is_taken_out_of_service_and_put_back(brewing: Rig, visitor: Visitor) -> None:
    send(visitor, "/quiet", "/out-of-service", key="above-band", where="vessel:bucket", reason="No cellar")

    (out,) = brewing.get("/out-of-service")["items"]
    assert (out["key"], out["vessel_id"]) == ("above-band", "bucket")
    assert "No cellar" in page(visitor, "/quiet").text
    send(visitor, "/quiet", f"/out-of-service/{out['id']}/back")
    assert brewing.get("/out-of-service")["items"] == []


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"key": "above-band", "where": "itself"}, "It belongs to a vessel: choose one."),
        ({"key": "no-reading", "where": "vessel:bucket"}, "It belongs to a probe: choose one."),
        ({"key": "disk-low", "where": "vessel:bucket"}, "It belongs to gylewatch itself: choose one."),
    ],
)
def test_a_place_where_an_alarm_cannot_be_is_said_beside_it(
    brewing: Rig, visitor: Visitor, typed: dict[str, str], words: str
) -> None:
    back = refused(visitor, "/quiet", "/out-of-service", **typed, reason="Why not")

    assert words in back.one(id="o-where-wrong").text
    assert back.one("input", id="o-reason").attributes["value"] == "Why not"
    assert "selected" in back.one("option", value=typed["key"]).attributes
    assert brewing.get("/out-of-service")["items"] == []


def test_an_absence_is_made_shown_and_taken_out(brewing: Rig, visitor: Visitor) -> None:
    send(visitor, "/quiet", "/absences", **AWAY)

    (one,) = brewing.get("/absences")["items"]
    assert (one["from"], one["channel_id"], one["note"]) == ("2026-11-26T08:00:00Z", "neighbour", "Key: pot")
    assert "messages by Neighbour. Key: pot" in page(visitor, "/quiet").text
    send(visitor, "/quiet", f"/absences/{one['id']}/remove")
    assert brewing.get("/absences")["items"] == []


def test_the_page_shows_the_three_sentences_that_a_helper_reads(brewing: Rig, visitor: Visitor) -> None:
    sentences = page(visitor, "/quiet").one("blockquote", id="example").all("p")

    assert len(sentences) == 3
    assert sentences[0].text.startswith("Bucket: too warm, 22.6 C since ")
    assert "only if you can do so safely" in sentences[2].text


@pytest.mark.parametrize(
    ("typed", "field"),
    [({"to": "2026-11-25T09:00"}, "to"), ({"from": "soon"}, "from"), ({"channel_id": ""}, "channel_id")],
)
def test_a_wrong_absence_is_said_beside_its_field(
    brewing: Rig, visitor: Visitor, typed: dict[str, str], field: str
) -> None:
    back = refused(visitor, "/quiet", "/absences", **{**AWAY, **typed})

    assert back.one(id=f"a-{field}-wrong").text
    assert back.one("input", id="a-note").attributes["value"] == "Key: pot"
    assert brewing.get("/absences")["items"] == []


def test_two_absences_at_once_are_refused_in_words(brewing: Rig, visitor: Visitor) -> None:
    send(visitor, "/quiet", "/absences", **AWAY)

    back = refused(visitor, "/quiet", "/absences", **AWAY)

    assert "same time" in back.one(role="alert").text


def test_signs_of_life_are_settled_and_ended_and_the_secret_is_not_shown(rig: Rig, visitor: Visitor) -> None:
    send(visitor, "/quiet", "/heartbeat", url="https://alive.example/ping/s3cret-word", every_s="900")

    assert rig.get("/heartbeat")["every_s"] == 900
    words = page(visitor, "/quiet").text
    assert "alive.example" in words
    assert "s3cret-word" not in words
    send(visitor, "/quiet", "/heartbeat/end")
    assert rig.client.get("/api/v1/heartbeat").status_code == 404


@pytest.mark.parametrize("typed", [{"url": "ftp://x.example"}, {"url": ""}])
def test_a_wrong_address_for_signs_of_life_is_said_beside_it(
    rig: Rig, visitor: Visitor, typed: dict[str, str]
) -> None:
    back = refused(visitor, "/quiet", "/heartbeat", **typed)

    assert back.one(id="h-url-wrong").text
    assert rig.client.get("/api/v1/heartbeat").status_code == 404
