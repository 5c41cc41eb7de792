"""Bottles and taste on the real desk, and a forgotten button answered with one tap."""

from datetime import timedelta

import pytest

from service.watch.fold import minute_of
from tests.actions.brewed import write
from tests.api.test_questions import BOILED, CHILLED
from tests.api.test_questions import PLAN as BOIL
from tests.rig import START, Rig, with_batch
from tests.web.served_pages import page, refused, send
from tests.web.visitor import Visitor


@pytest.fixture
def batch(rig: Rig) -> str:
    made = with_batch(rig, og=1.048)
    rig.rounds(2)
    return made


def test_a_tasting_is_kept_shown_and_explained(rig: Rig, visitor: Visitor, batch: str) -> None:
    units = [{"kind": "bottle", "size_l": 0.5, "count": 9}]
    rig.post(f"/batches/{batch}/packagings", {"units": units, "sugar": "sucrose", "sugar_g": 0})
    path = f"/batches/{batch}/tasting"

    where = send(visitor, path, f"{path}/tastings", **{"fault-flat": "yes", "words": "Thin & <b>dull</b>"})
    shown = page(visitor, path)

    assert where == f"{path}#tastings"
    assert "Flat. Thin & <b>dull</b>" in shown.one(data_part="list-tastings").text
    told = shown.one(data_part="faults").text
    assert "Could well: It was packaged without sugar." in told
    assert "common practice" in told
    assert "Across your batches:" in told


def test_a_tasting_that_says_nothing_comes_back_with_why(visitor: Visitor, batch: str) -> None:
    path = f"/batches/{batch}/tasting"

    back = refused(visitor, path, f"{path}/tastings", words="  ")

    assert "needs words, faults or both" in back.text.lower()


def test_the_witness_bottle_is_one_tap(visitor: Visitor, rig: Rig, batch: str) -> None:
    path = f"/batches/{batch}/tasting"

    send(visitor, path, f"{path}/squeezes", firm="no")

    assert "Soft" in page(visitor, path).one(data_part="list-squeezes").text
    assert [e["firm"] for e in rig.get(f"/batches/{batch}/squeezes")["items"]] == [False]


def test_an_opened_bottle_that_fell_shows_what_to_do(visitor: Visitor, rig: Rig, batch: str) -> None:
    rig.post(f"/batches/{batch}/readings", {"sg": 1.014})
    rig.post(f"/batches/{batch}/packagings", {"units": [{"kind": "bottle", "size_l": 0.5, "count": 9}]})
    path = f"/batches/{batch}/tasting"

    send(visitor, path, f"{path}/openings", sg="1,009", sample_c="20")

    told = page(visitor, path).one(data_part="list-openings").text
    assert "points below the beer that went in" in told
    assert "do not move or open them warm" in told


def test_an_entry_is_taken_out(visitor: Visitor, rig: Rig, batch: str) -> None:
    path = f"/batches/{batch}/tasting"
    send(visitor, path, f"{path}/squeezes", firm="yes")

    send(visitor, path, f"{path}/squeezes/1/remove")

    assert rig.get(f"/batches/{batch}/squeezes")["items"] == []


def test_the_page_of_a_batch_leads_to_it_and_an_unknown_one_is_refused(visitor: Visitor, batch: str) -> None:
    links = [a.attributes.get("href", "") for a in page(visitor, f"/batches/{batch}").all("a")]

    assert f"/batches/{batch}/tasting" in links
    assert visitor.get("/batches/none/tasting").status_code == 404


@pytest.fixture
def boiled(rig: Rig) -> str:
    """Boiled for an hour, then chilled for ten minutes; nobody pressed anything."""
    began = START - timedelta(minutes=BOILED + CHILLED)
    rig.post("/vessels", {"name": "Pot", "kind": "kettle", "volume_l": 10})
    rig.post("/probes", {"label": "Wort", "interval_s": 60})
    rig.patch("/probes/wort", {"vessel_id": "pot", "role": "liquid", "from": began.isoformat()})
    write(rig, "wort", [99.8] * BOILED + [99.8 - 4.0 * n for n in range(1, CHILLED + 1)], minute_of(began))
    body = {"name": "Short", "vessel_id": "pot", "plan": BOIL, "started_at": began.isoformat()}
    return str(rig.post("/batches", body)["id"])


@pytest.mark.parametrize("where", ["stove", "batches"])
def test_a_forgotten_button_is_asked_about_and_yes_presses_it(
    visitor: Visitor, rig: Rig, boiled: str, where: str
) -> None:
    path = f"/{where}/{boiled}"
    asked = page(visitor, path).one(data_part="questions").text

    led = send(visitor, path, f"/batches/{boiled}/questions/chill/yes")

    assert "Cool since 07:49?" in asked
    assert led == path
    assert rig.get(f"/batches/{boiled}")["stage"] == "cool"
    assert page(visitor, path).one(data_part="questions").text == ""


def test_no_makes_the_question_go(visitor: Visitor, rig: Rig, boiled: str) -> None:
    send(visitor, f"/stove/{boiled}", f"/batches/{boiled}/questions/chill/no")

    assert page(visitor, f"/stove/{boiled}").one(data_part="questions").text == ""
    assert rig.get(f"/batches/{boiled}")["stage"] == "boil"


def test_a_question_that_is_over_is_refused(visitor: Visitor, boiled: str) -> None:
    send(visitor, f"/stove/{boiled}", f"/batches/{boiled}/questions/chill/no")
    answer = visitor.post(f"/batches/{boiled}/questions/nothing/yes", data={})

    assert answer.status_code in (403, 404)
