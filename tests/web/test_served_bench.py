"""A batch's record by forms on the real desk: written down, judged, taken out, primed."""

import pytest

from tests.rig import PROBE, Rig, with_batch
from tests.web.markup import read
from tests.web.served_pages import begun, page, refused, send
from tests.web.visitor import Visitor


@pytest.fixture
def path(rig: Rig) -> str:
    """The page of a batch whose yeast was pitched three minutes ago."""
    batch = with_batch(rig, og=1.045, expected_fg=1.010, volume_l=5)
    rig.until(180)
    return f"/batches/{batch}"


def test_a_warm_sample_is_listed_with_its_corrected_gravity_and_interval(visitor: Visitor, path: str) -> None:
    send(visitor, path, f"{path}/readings", sg="1,050", sample_c="30")

    listed = page(visitor, path).one(data_part="list-readings")
    # a sucrose solution's density with soda-lime glass (ISO 1768)
    assert listed.one(css="entry-figure").text == "1.0528"
    assert "Hydrometer: 1.0500 SG at 30.0 C" in listed.text
    assert " to 1.05" in listed.text


def test_a_refractometer_reading_is_taken_from_its_own_fields(rig: Rig, visitor: Visitor, path: str) -> None:
    send(visitor, path, f"{path}/readings", by="refractometer", brix="11.6", at="2026-11-25T08:00")
    send(visitor, path, f"{path}/readings", by="refractometer", brix="7.2")

    kept = rig.get(path + "/readings")["items"]
    assert [(one["by"], one["brix"], one["at"]) for one in kept][1] == (
        "refractometer",
        11.6,
        "2026-11-25T08:00:00Z",
    )
    assert "Refractometer: 7.2 Brix" in page(visitor, path).one(data_part="list-readings").text


def test_a_gravity_without_its_point_is_said_beside_the_field_and_kept(visitor: Visitor, path: str) -> None:
    back = refused(visitor, path, f"{path}/readings", sg="1048", sample_c="24")

    assert back.one("main").one("p", css="refused").one("a").attributes["href"] == "#readings"
    assert back.one("input", id="readings-sg").attributes["value"] == "1048"
    assert back.one("input", id="readings-sg").attributes["aria-invalid"] == "true"
    assert back.one("input", id="readings-sample_c").attributes["value"] == "24"
    assert back.one(id="readings-sg-wrong").text
    assert "open" in back.one("details", id="readings-new").attributes
    assert "open" not in back.one("details", id="notes-new").attributes


def test_a_field_of_another_kind_is_named_and_not_dropped(visitor: Visitor, path: str) -> None:
    back = refused(visitor, path, f"{path}/readings", by="hydrometer", sg="1.020", brix="7")

    assert back.one(id="readings-brix-wrong").text


def test_an_entry_is_taken_out_and_is_gone(rig: Rig, visitor: Visitor, path: str) -> None:
    send(visitor, path, f"{path}/notes", text="The <b>lid</b> was loose.")
    assert "The <b>lid</b> was loose." in page(visitor, path).one(data_part="list-notes").text

    send(visitor, path, f"{path}/notes/1/remove")

    assert page(visitor, path).one(data_part="list-notes").text == "No notes."
    assert rig.get(path + "/notes")["items"] == []


def test_a_sighting_takes_one_tap_and_two_taps_note_it_once(rig: Rig, visitor: Visitor, path: str) -> None:
    form = page(visitor, path).one("form", action=f"{path}/sightings")
    assert "smells-clean" in [b.attributes["value"] for b in form.all("button")]

    for _ in range(2):
        assert visitor.post(f"{path}/sightings", data={**begun(form), "what": "foam-up"}).status_code == 303

    assert [one["what"] for one in rig.get(path + "/sightings")["items"]] == ["foam-up"]


def test_two_forms_of_one_page_each_act(rig: Rig, visitor: Visitor, path: str) -> None:
    seen = page(visitor, path)
    note = begun(seen.one("form", action=f"{path}/notes")) | {"text": "Swirled."}
    sight = begun(seen.one("form", action=f"{path}/sightings")) | {"what": "clear"}

    visitor.post(f"{path}/notes", data=note)
    visitor.post(f"{path}/sightings", data=sight)

    assert (len(rig.get(path + "/notes")["items"]), len(rig.get(path + "/sightings")["items"])) == (1, 1)


def test_an_addition_keeps_its_shares(rig: Rig, visitor: Visitor, path: str) -> None:
    send(visitor, path, f"{path}/additions", what="Honey", mass_g="120", extract_share_percent="82")

    (kept,) = rig.get(path + "/additions")["items"]
    assert (kept["mass_g"], kept["extract_share"], kept["fermentable_share"]) == (120, 0.82, 1)


def test_a_share_above_the_whole_is_said_beside_its_field(visitor: Visitor, path: str) -> None:
    back = refused(
        visitor, path, f"{path}/additions", what="Honey", mass_g="120", extract_share_percent="820"
    )

    assert "above" in back.one(id="additions-extract-wrong").text
    assert back.one("input", id="additions-extract_share_percent").attributes["value"] == "820"


def test_a_young_beer_may_not_be_packaged_and_every_check_says_why(visitor: Visitor, path: str) -> None:
    asked = page(visitor, path).one(data_part="readiness")

    assert asked.one(css="bench-answer").text.startswith("Not yet: ")
    checks = asked.all("li", css="check")
    unmet = [c for c in checks if "check-unmet" in c.classes]
    assert len(checks) == 9
    assert all("not met" in c.text for c in unmet)
    assert all("not met" not in c.text for c in checks if c not in unmet)
    assert any("Enough days since pitching: not met" in c.text for c in unmet)


def test_the_sugar_is_worked_out_from_what_the_batch_knows(visitor: Visitor, path: str) -> None:
    send(visitor, path, f"{path}/readings", sg="1.010")

    asked = page(
        visitor,
        f"{path}/priming?asked=yes&wanted_volumes=2.3&bottles/0/size_l=0.5&bottles/0/count=10&ten_teaspoons_g=45",
    )

    # 5 l with the gas that 20 C leaves need about 29 g of sucrose for 2.3 volumes (common practice: 5.8 g/l)
    total = float(asked.one("h1").text.split(" g")[0])
    assert 25 < total < 33
    rows = [[c.text for c in row.all("td")] for row in asked.all("table")[0].one("tbody").all("tr")]
    assert rows[0][0] == "10"
    assert float(rows[0][1].split()[0]) == pytest.approx(total / 10, abs=0.06)
    kept_at = [row.one("th").text for row in asked.all("table")[1].one("tbody").all("tr")]
    assert kept_at == ["20 C", "30 C", "40 C"]
    assert "Take care" in asked.text
    assert asked.one(css="formula").text


def test_more_gas_than_a_bottle_holds_is_refused_in_words(visitor: Visitor, path: str) -> None:
    send(visitor, path, f"{path}/readings", sg="1.010")

    asked = page(visitor, f"{path}/priming?asked=yes&wanted_volumes=3.6")

    assert asked.one("h1").text == "Do not bottle it like this."
    assert asked.one("p", css="refused").text


def test_a_batch_of_unknown_volume_is_asked_for_it_beside_the_field(rig: Rig, visitor: Visitor) -> None:
    rig.post("/vessels", {"name": "Jar"})
    rig.post("/plans", {"name": "P", "stages": [{"key": "a", "kind": "stand", "lasts_s": 60}]})
    batch = rig.post("/batches", {"name": "Small", "vessel_id": "jar", "plan_id": "p"})["id"]

    answer = visitor.get(f"/batches/{batch}/priming?asked=yes&wanted_volumes=2.3")

    assert answer.status_code == 422
    assert 'id="f-volume_l-wrong"' in answer.text
    assert 'id="f-warmest_c-wrong"' in answer.text
    assert 'value="2.3"' in answer.text
    assert "open" in read(answer.text).one("form").one("details").attributes


def test_the_newest_entries_stand_open_and_earlier_ones_are_folded(visitor: Visitor, path: str) -> None:
    for n in range(6):
        send(visitor, path, f"{path}/notes", text=f"Note {n}.")

    listed = page(visitor, path).one(data_part="list-notes")

    folded = listed.one("details", id="earlier-notes")
    assert folded.all("summary")[0].text == "Two earlier ones"
    assert [e.one(css="entry-what").all("p")[0].text for e in folded.all("li")] == ["Note 1.", "Note 0."]
    assert len(listed.all("li")) == 6


@pytest.mark.parametrize("n", ["7", "99999999999999999999999", "-1"])
def test_an_entry_that_is_not_there_cannot_be_taken_out(visitor: Visitor, path: str, n: str) -> None:
    token = page(visitor, path).one("form", action=f"{path}/notes").one("input", name="token")

    answer = visitor.post(f"{path}/notes/{n}/remove", data={"token": token.attributes["value"]})

    assert answer.status_code == 404
    assert read(answer.text).one("h1").text


def test_a_form_from_elsewhere_writes_nothing_and_loses_nothing(
    rig: Rig, visitor: Visitor, path: str
) -> None:
    answer = visitor.post(f"{path}/notes", data={"token": "another", "text": "Not from here."})

    assert answer.status_code == 403
    assert read(answer.text).one("textarea", id="notes-text").text == "Not from here."
    assert rig.get(path + "/notes")["items"] == []


def test_a_text_too_long_or_a_time_ahead_is_said_beside_its_field(visitor: Visitor, path: str) -> None:
    ahead = refused(visitor, path, f"{path}/notes", text="Later.", at="2026-11-25T23:00")
    assert ahead.one(id="notes-at-wrong").text
    assert ahead.one("textarea", id="notes-text").text == "Later."

    long = refused(visitor, path, f"{path}/additions", what="H" * 400, mass_g="-3")

    assert long.one(id="additions-what-wrong").text
    assert long.one(id="additions-mass_g-wrong").text


def test_the_minute_that_is_still_running_is_not_called_unmeasured(rig: Rig, visitor: Visitor) -> None:
    path = f"/batches/{with_batch(rig)}"
    rig.until(630)

    told = page(visitor, path).one(data_part="sentence").text

    assert "Nothing was measured" not in told
    assert "it stayed at 20.0 C" in told


def test_a_silence_is_still_told_up_to_the_running_minute(rig: Rig, visitor: Visitor) -> None:
    path = f"/batches/{with_batch(rig)}"
    rig.until(630)
    rig.source.values[PROBE] = None
    rig.until(1200)

    told = page(visitor, path).one(data_part="sentence").text
    assert any(f"Nothing was measured for {n} min" in told for n in (19, 20)), told


@pytest.mark.parametrize("count, words", [(0, "No direct reading;"), (1, "One direct reading;")])
def test_direct_readings_are_counted_in_words(visitor: Visitor, path: str, count: int, words: str) -> None:
    for _ in range(count):
        send(visitor, path, f"{path}/readings", sg="1.040")

    assert words in page(visitor, path).one(data_part="readiness").text
