"""The pages on the real desk: from nothing to a watched batch by forms alone, and what they show then."""

from tests.rig import PLAN, PROBE, Rig, with_batch
from tests.web.markup import read
from tests.web.served_pages import page, send
from tests.web.visitor import Visitor

QUICK = {
    **PLAN,
    "stages": [{**PLAN["stages"][0], "alarm_after_s": 30, "clear_after_s": 30}, PLAN["stages"][1]],
}


def following(visitor: Visitor) -> str:
    return page(visitor, "/first-steps").one("li", aria_current="step").one("h2").text


def test_forms_alone_lead_from_a_probe_to_a_watched_batch(rig: Rig, visitor: Visitor) -> None:
    assert following(visitor) == "Connect a probe"
    rig.rounds(2)
    assert following(visitor) == "Name what it hangs in"

    send(visitor, "/vessels/new", "/vessels", name="Bucket", kind="fermenter", volume_l="5")
    assert following(visitor) == "Say which probe is where"
    send(visitor, "/probes", f"/probes/{PROBE}", label="Bucket, well", vessel_id="bucket", role="liquid")
    assert following(visitor) == "Start a batch"
    send(visitor, "/plans/new", "/plans", name="Stair brown")
    there = send(
        visitor, "/batches/new", "/batches", name="Stair brown", vessel_id="bucket", plan_id="stair-brown"
    )

    assert following(visitor) == "Let messages reach you"
    assert "Stair brown: primary" in page(visitor, there).one("h1").text
    rig.rounds(2)
    assert page(visitor, "/").one(data_reading="").text == "20.0"


def test_a_form_sent_twice_starts_one_batch(rig: Rig, visitor: Visitor) -> None:
    rig.post("/plans", PLAN)
    rig.post("/vessels", {"name": "Bucket"})
    form = page(visitor, "/batches/new").one("form", action="/batches")
    typed = {e.attributes["name"]: e.attributes["value"] for e in form.all("input", type="hidden")}
    typed |= {"name": "Stair brown", "vessel_id": "bucket", "plan_id": "stair-brown"}

    first, second = (visitor.post("/batches", data=typed) for _ in range(2))

    assert first.headers["location"] == second.headers["location"]
    assert len(rig.get("/batches")["items"]) == 1


def test_a_stray_stands_on_every_page_until_it_is_acknowledged(rig: Rig, visitor: Visitor) -> None:
    batch = with_batch(rig, QUICK)
    rig.rounds(3)
    rig.source.values[PROBE] = 22.6
    rig.until(60)

    home = page(visitor, "/")
    assert home.one("h1").text == "One thing wants you: Bucket."
    assert "Unacknowledged" in home.one("article", css="notice").text
    assert "1 waiting for you" in page(visitor, f"/batches/{batch}").one("nav").text
    alarm_id = rig.standing()["above-band"]["id"]
    send(visitor, "/alarms", f"/alarms/{alarm_id}/acknowledge", note="cooling it")

    assert page(visitor, "/alarms").one("h1").text == "Nothing waits for you; one alarm stands."
    assert page(visitor, "/").one("h1").text == "Bucket lies outside the band."


def test_an_alarm_is_shelved_unshelved_and_in_the_end_history(rig: Rig, visitor: Visitor) -> None:
    with_batch(rig, QUICK)
    rig.rounds(3)
    rig.source.values[PROBE] = 22.6
    rig.until(60)
    alarm_id = rig.standing()["above-band"]["id"]

    send(visitor, "/alarms", f"/alarms/{alarm_id}/shelve", for_s="7200", reason="it is in the bath")
    assert "Shelved until" in page(visitor, "/alarms").one("article").text
    send(visitor, "/alarms", f"/alarms/{alarm_id}/unshelve")
    send(visitor, "/alarms", f"/alarms/{alarm_id}/acknowledge")
    rig.source.values[PROBE] = 20.0
    rig.until(60)

    alarms = page(visitor, "/alarms")
    assert alarms.one("h1").text == "No alarm stands."
    assert "Too warm, high." in alarms.one("tbody").text


def test_a_silent_probe_is_shown_as_silence(rig: Rig, visitor: Visitor) -> None:
    with_batch(rig)
    rig.rounds(6)
    rig.source.values[PROBE] = None
    rig.until(300)

    strip = page(visitor, "/").one("section", css="vessel")

    assert "fresh-silent" in strip.classes
    assert strip.all(data_reading="") == []
    assert "No reading since 08:0" in strip.text
    assert "Silent" in page(visitor, "/probes").one("article").text


def test_a_batch_shows_its_stages_and_can_be_led_and_taken_back(rig: Rig, visitor: Visitor) -> None:
    batch = with_batch(rig)
    rig.until(600)
    path = f"/batches/{batch}"

    seen = page(visitor, path)
    assert [e.one(css="stage-name").text for e in seen.all("li", css="stage")] == ["Primary (now)", "Cold"]
    assert "18.5 to 21.5 C" in seen.one("li", aria_current="step").text
    assert "it stayed at 20.0 C" in seen.one("figcaption").text
    send(visitor, path, f"{path}/advance")
    assert "Cold (now)" in page(visitor, path).one("li", aria_current="step").text
    send(visitor, path, f"{path}/undo")

    assert "Primary (now)" in page(visitor, path).one("li", aria_current="step").text


def test_running_batches_come_before_those_that_have_ended(rig: Rig, visitor: Visitor) -> None:
    batch = with_batch(rig)
    rig.rounds(2)
    rig.post(f"/batches/{batch}/advance", {"to": "end"})
    rig.post("/vessels", {"name": "Demijohn"})
    rig.post("/batches", {"name": "Small pale", "vessel_id": "demijohn", "plan": PLAN})

    listed = page(visitor, "/batches")

    assert listed.one("h1").text == "One batch is under way."
    rows = [[cell.text for cell in row.all("td")][:2] for row in listed.one("tbody").all("tr")]
    assert rows == [["Running", "Demijohn"], ["Ended", "–"]]
    ended = page(visitor, f"/batches/{batch}")
    assert ended.all("form", action=f"/batches/{batch}/advance") == []
    assert ended.one("form", action=f"/batches/{batch}/undo")


def test_what_the_service_refuses_is_said_beside_the_field(rig: Rig, visitor: Visitor) -> None:
    form = page(visitor, "/vessels/new").one("form", action="/vessels")
    typed = {e.attributes["name"]: e.attributes["value"] for e in form.all("input", type="hidden")}

    answer = visitor.post("/vessels", data={**typed, "name": "B" * 200, "kind": "teapot", "volume_l": "-1"})

    refused = read(answer.text)
    assert answer.status_code == 422
    assert refused.one("p", id="f-volume_l-wrong").text == "Is not above 0. Give a number above 0."
    assert (
        refused.one("p", id="f-name-wrong").text
        == "Is longer than 120 characters. Give at most 120 characters."
    )
    assert "choices" in refused.one("p", id="f-kind-wrong").text
    assert rig.get("/vessels")["items"] == []


def test_a_channel_is_added_shown_without_its_secret_and_taken_away(rig: Rig, visitor: Visitor) -> None:
    secret = "https://127.0.0.1:9/hook/s3cret-part"
    send(visitor, "/settings", "/channels", name="My phone", kind="webhook", url=secret)

    shown = page(visitor, "/settings")
    assert "My phone" in shown.one("article").text
    assert "s3cret-part" not in visitor.get("/settings").text
    send(visitor, "/settings", "/channels/my-phone/remove")

    assert page(visitor, "/settings").one("h1").text == "No message can reach you yet."


def test_a_trial_that_fails_says_so(rig: Rig, visitor: Visitor) -> None:
    send(visitor, "/settings", "/channels", name="Gone", kind="webhook", url="http://127.0.0.1:9/hook")
    form = page(visitor, "/settings").one("form", action="/channels/gone/test")
    token = form.one("input", name="token").attributes["value"]

    answer = visitor.post("/channels/gone/test", data={"token": token})

    assert "The trial message did not arrive." in read(answer.text).one(css="trial").text
