"""Probes, vessels, channels, batches and first steps: forms that keep what was typed and act once."""

import pytest

from tests.web import fake_record, fakes
from tests.web.conftest import Visit
from tests.web.fake_house import TOKEN, FakeHouse
from tests.web.markup import Element, read
from web.pages.probes import Choice
from web.words import Taste


def rich() -> FakeHouse:
    return FakeHouse(
        [fakes.larger(), fakes.smaller()],
        [fakes.warm()],
        hung=fakes.probes(),
        ways=fakes.channels(),
        brews=[fakes.brew()],
        record=fake_record.record(),
        cooking=fake_record.stoves(),
        lines=fake_record.calibrations(),
        plans=[Choice("cupboard-brown", "Cupboard brown")],
        stored={"stair-brown": (fakes.PLAN, 1)},
    )


PAGES = [
    "/",
    "/alarms",
    "/batches",
    "/batches/new",
    "/batches/brown-2026-11-22",
    "/batches/brown-2026-11-22/priming?asked=yes&wanted_volumes=2.3&bottles%2F0%2Fsize_l=0.5&bottles%2F0%2Fcount=8",
    "/plans",
    "/plans/new",
    "/plans/stair-brown",
    "/probes",
    "/probes/28-00000a1b2c3d/calibration",
    "/stove/small-2026-11-25",
    "/stove/brown-2026-11-22",
    "/vessels/new",
    "/settings",
    "/quiet",
    "/settings/units",
    "/batches/brown-2026-11-22/readings/2",
    "/first-steps",
]


@pytest.mark.parametrize("path", PAGES)
def test_every_page_is_whole_named_and_free_of_inline_style_and_script(visit: Visit, path: str) -> None:
    answer = visit(rich()).get(path)

    page = read(answer.text)
    assert answer.status_code == 200
    assert answer.headers["cache-control"] == "no-store"
    assert page.one("html").attributes["lang"] == "en"
    assert len(page.all("h1")) == 1
    assert "gylewatch" in page.one("head").one("title").text
    ids = [e.attributes["id"] for e in page.each() if "id" in e.attributes]
    assert len(ids) == len(set(ids))
    assert [e for e in page.each() if "style" in e.attributes or e.tag == "style"] == []
    data = {"type": "application/json", "id": "chart-first"}
    assert all("src" in e.attributes or e.attributes == data for e in page.all("script"))


@pytest.mark.parametrize("path", PAGES)
def test_every_link_and_form_stays_below_the_prefix_of_a_proxy(visit: Visit, path: str) -> None:
    visitor = visit(rich())
    visitor.root_path = "/beer"

    page = read(visitor.get(f"/beer{path}").text)

    names = ("href", "src", "action", "data-series", "data-first")
    places = [e.attributes[n] for e in page.each() for n in names if n in e.attributes]
    assert [p for p in places if not p.startswith(("/beer/", "#"))] == []


@pytest.mark.parametrize("path", ["/batches/nothing", "/alarms?cursor=9999999"])
def test_what_is_not_there_is_said_on_a_page(visit: Visit, path: str) -> None:
    answer = visit(rich()).get(path)

    assert answer.status_code in (200, 404)
    assert len(read(answer.text).all("h1")) == 1


def fields(page: Element, action: str) -> dict[str, str]:
    form = page.one("form", action=action)
    return {
        e.attributes["name"]: e.attributes.get("value", "")
        for e in form.all("input")
        if "name" in e.attributes
    }


def test_a_probe_waiting_for_a_place_comes_first_and_is_put_somewhere(visit: Visit) -> None:
    house = rich()
    house.hung = [p for p in house.hung if p.id != "demijohn-air"]
    page = read(visit(house).get("/probes").text)
    assert "Waiting for a place" in page.all("article")[0].text

    typed = fields(page, "/probes/28-00000a1b2c40") | {
        "vessel_id": "demijohn",
        "role": "liquid",
        "label": "Demi",
    }
    answer = visit(house).post("/probes/28-00000a1b2c40", data=typed)

    assert answer.status_code == 303
    assert (house.hung[-1].label, house.hung[-1].vessel_id) == ("Demi", "demijohn")


def test_a_second_probe_in_the_liquid_is_refused_with_what_was_typed(visit: Visit) -> None:
    typed = {"token": TOKEN, "label": "My <b>probe</b>", "vessel_id": "bucket", "role": "liquid"}

    answer = visit(rich()).post("/probes/28-00000a1b2c40", data=typed)

    page = read(answer.text)
    assert answer.status_code == 409
    assert "has a probe in its liquid already" in page.one(role="alert").text
    kept = page.one("input", id="28-00000a1b2c40-label")
    assert kept.attributes["value"] == "My <b>probe</b>"


NO_NUMBER = "Is not a number. Write it in figures, such as 4.5."


def test_a_vessel_is_made_from_what_was_typed(visit: Visit) -> None:
    house = FakeHouse()
    page = read(visit(house).get("/vessels/new").text)
    typed = fields(page, "/vessels") | {"name": " Bucket ", "kind": "fermenter", "volume_l": "4,5"}
    for word in ("heater", "fan", "water-bath", "wet-cloth", "insulation"):
        typed.pop(f"near-{word}")

    answer = visit(house).post("/vessels", data=typed)

    assert answer.headers["location"] == "/first-steps"
    made = {"name": "Bucket", "kind": "fermenter", "volume_l": 4.5, "near": ["thermostat-fridge"]}
    assert house.asked == [("vessel", made)]


@pytest.mark.parametrize(
    "typed, field, words",
    [
        ({"name": "", "volume_l": "5"}, "name", "Is empty. Give the vessel a name."),
        ({"name": "B", "volume_l": "five"}, "volume_l", NO_NUMBER),
        ({"name": "B", "volume_l": "NaN"}, "volume_l", NO_NUMBER),
        ({"name": "B", "volume_l": "1e999"}, "volume_l", NO_NUMBER),
        ({"name": "B", "volume_l": "-3"}, "volume_l", "Is not between 0 and 1000. Give it in litres."),
    ],
)  # fmt: skip
def test_a_wrong_field_is_named_beside_it_and_nothing_typed_is_lost(
    visit: Visit, typed: dict[str, str], field: str, words: str
) -> None:
    house = FakeHouse()

    answer = visit(house).post("/vessels", data={"token": TOKEN, "kind": "keg", "near-fan": "yes", **typed})

    page = read(answer.text)
    assert answer.status_code == 422
    wrong = page.one("input", id=f"f-{field}")
    assert page.one("p", id=wrong.attributes["aria-describedby"].split()[-1]).text == words
    assert {n: page.one("input", id=f"f-{n}").attributes["value"] for n in typed} == typed
    assert "selected" in page.one("option", value="keg").attributes
    assert "checked" in page.one("input", name="near-fan").attributes
    assert house.asked == []


def test_a_form_sent_twice_acts_once_and_leads_to_the_same_place(visit: Visit) -> None:
    house = rich()
    visitor = visit(house)
    typed = fields(read(visitor.get("/batches/new").text), "/batches")
    typed |= {"name": "Small stout", "vessel_id": "demijohn", "plan_id": "cupboard-brown"}

    first = visitor.post("/batches", data=typed)
    second = visitor.post("/batches", data=typed)

    assert first.headers["location"] == second.headers["location"] == "/batches/b1"
    assert [kind for kind, _ in house.asked] == ["batch"]


def test_a_refused_form_may_be_mended_and_sent_again(visit: Visit) -> None:
    house = rich()
    visitor = visit(house)
    typed = {"token": TOKEN, "once": "k", "name": "S", "vessel_id": "demijohn", "plan_id": "p"}

    wrong = visitor.post("/batches", data={**typed, "og": "1048"})
    right = visitor.post("/batches", data={**typed, "og": "1.048"})

    assert (wrong.status_code, right.status_code) == (422, 303)
    assert read(wrong.text).one("input", name="once").attributes["value"] == "k"


def test_a_past_start_is_taken_in_the_brewers_zone(visit: Visit) -> None:
    house = rich()
    house.likes = Taste(timezone="Europe/Berlin")
    typed = {"token": TOKEN, "name": "S", "vessel_id": "d", "plan_id": "p", "started_at": "2026-11-24T18:00"}

    visit(house).post("/batches", data=typed)

    assert house.asked[0][1]["started_at"] == "2026-11-24T17:00:00Z"


@pytest.mark.parametrize("typed", ["yesterday", "2026-13-01T00:00", "2026-03-29T02:30", "9999-12-31T23:59"])
def test_a_time_that_cannot_be_is_refused_beside_its_field(visit: Visit, typed: str) -> None:
    house = rich()
    house.likes = Taste(timezone="Europe/Berlin")
    form = {"token": TOKEN, "name": "S", "vessel_id": "d", "plan_id": "p", "started_at": typed}

    answer = visit(house).post("/batches", data=form)

    wrong = typed != "9999-12-31T23:59"
    assert answer.status_code == (422 if wrong else 303)
    if wrong:
        assert "aria-invalid" in read(answer.text).one("input", id="f-started_at").attributes


def test_a_batch_shows_stage_by_stage_where_it_is_and_the_next_step(visit: Visit) -> None:
    page = read(visit(rich()).get("/batches/brown-2026-11-22").text)

    now = page.one("li", aria_current="step")
    assert "Primary (now)" in now.text
    assert "18.5 to 21.5 C" in now.text
    assert page.one("h1").text == "Winter brown: working, past its peak."
    assert "Begin cold now" in page.text
    assert "Take back: primary was entered" in page.text
    assert len(page.one("table").one("tbody").all("tr")) == 24


def test_a_stage_is_entered_and_taken_back(visit: Visit) -> None:
    house = rich()
    visitor = visit(house)
    page = read(visitor.get("/batches/brown-2026-11-22").text)

    entered = visitor.post(
        "/batches/brown-2026-11-22/advance", data=fields(page, "/batches/brown-2026-11-22/advance")
    )
    back = visitor.post("/batches/brown-2026-11-22/undo", data={"token": TOKEN})

    assert (entered.status_code, back.status_code) == (303, 303)
    assert house.asked == [("advance", {"to": "cold"}), ("undo", {})]


def test_a_time_ahead_is_refused_on_the_batchs_own_page(visit: Visit) -> None:
    typed = {"token": TOKEN, "to": "cold", "at": "2026-11-26T10:00"}

    answer = visit(rich()).post("/batches/brown-2026-11-22/advance", data=typed)

    page = read(answer.text)
    assert answer.status_code == 422
    assert "Lies in the future" in page.one("p", id="f-at-wrong").text
    assert page.one("input", id="f-at").attributes["value"] == "2026-11-26T10:00"


def test_a_channel_is_added_with_the_fields_of_its_kind_only(visit: Visit) -> None:
    house = FakeHouse()
    typed = {
        "token": TOKEN,
        "name": "M",
        "kind": "mail",
        "host": "h",
        "port": "587",
        "url": "http://x.example",
    }

    visit(house).post("/channels", data=typed)

    assert house.asked == [("channel", {"name": "M", "kind": "mail", "host": "h", "port": 587})]


def test_a_password_is_never_sent_back(visit: Visit) -> None:
    typed = {"token": TOKEN, "name": "", "kind": "mail", "password": "s3cret-word", "host": "mail.example"}

    answer = visit(FakeHouse()).post("/channels", data=typed)

    assert answer.status_code == 422
    assert "s3cret-word" not in answer.text
    assert "mail.example" in answer.text


@pytest.mark.parametrize(
    "channel_id, words",
    [("phone", "The trial message arrived."), ("mail", "The trial message did not arrive.")],
)
def test_a_trial_message_tells_what_the_far_end_said(visit: Visit, channel_id: str, words: str) -> None:
    answer = visit(rich()).post(f"/channels/{channel_id}/test", data={"token": TOKEN})

    assert words in read(answer.text).one(role="status", css="trial").text


def test_without_a_channel_the_settings_say_that_no_message_can_arrive(visit: Visit) -> None:
    assert "No message can reach you yet." in visit(FakeHouse()).get("/settings").text


@pytest.mark.parametrize(
    "house, following",
    [
        (FakeHouse(), "Connect a probe"),
        (FakeHouse(hung=fakes.probes()[3:]), "Name what it hangs in"),
        (FakeHouse([fakes.larger()], hung=fakes.probes()[3:]), "Say which probe is where"),
        (FakeHouse([fakes.larger()], hung=fakes.probes()), "Start a batch"),
        (FakeHouse([fakes.larger()], hung=fakes.probes(), brews=[fakes.brew()]), "Let messages reach you"),
    ],
)
def test_the_first_steps_point_to_the_one_that_is_next(
    visit: Visit, house: FakeHouse, following: str
) -> None:
    page = read(visit(house).get("/first-steps").text)

    assert page.one("li", aria_current="step").one("h2").text == following


def test_a_page_that_stayed_open_over_a_restart_loses_nothing_typed(visit: Visit) -> None:
    house = rich()
    typed = {"token": "of-an-earlier-run", "name": "Small stout", "vessel_id": "demijohn", "og": "1.05"}

    answer = visit(house).post("/batches", data=typed)

    page = read(answer.text)
    assert answer.status_code == 403
    assert "open for too long" in page.one(role="alert").text
    assert page.one("input", id="f-name").attributes["value"] == "Small stout"
    assert page.all("input", name="token")[0].attributes["value"] == TOKEN
    assert house.asked == []


FORMS = [
    "/vessels",
    "/batches",
    "/channels",
    "/channels/phone/test",
    "/channels/phone/remove",
    "/probes/28-00000a1b2c40",
    "/alarms/a-1042/shelve",
    "/alarms/a-1042/unshelve",
    "/batches/brown-2026-11-22/advance",
    "/batches/brown-2026-11-22/undo",
]


@pytest.mark.parametrize("path", FORMS)
def test_no_form_is_taken_from_another_site(visit: Visit, path: str) -> None:
    house = rich()
    typed = {"token": "guessed", "name": "x", "label": "x", "to": "cold", "for_s": "7200", "reason": "x"}

    answer = visit(house).post(path, data=typed)

    untouched = rich()
    assert answer.status_code == 403
    assert house.asked == []
    assert (house.hung, house.ways, house.alarms) == (untouched.hung, untouched.ways, untouched.alarms)
