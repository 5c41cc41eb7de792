"""A forgotten button through the API: asked, answered with one tap, and not asked again."""

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from service.record.marks import set_mark
from service.watch.fold import minute_of
from tests.actions.brewed import write
from tests.rig import START, Rig, rig_in

PLAN: dict[str, Any] = {
    "name": "Short day",
    "stages": [
        {"key": "boil", "kind": "boil", "lasts_s": 3600, "ends": "brewer"},
        {"key": "cool", "kind": "chill", "target_c": 20, "ends": "brewer"},
        {"key": "primary", "kind": "primary", "target_c": 19, "lasts_s": 864000, "ends": "brewer"},
    ],
}
BOILED, CHILLED = 60, 10


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    with rig_in(tmp_path) as made:
        yield made


@pytest.fixture
def batch(rig: Rig) -> str:
    """Boiled for an hour, then chilled for ten minutes; nobody pressed anything."""
    began = START - timedelta(minutes=BOILED + CHILLED)
    rig.post("/vessels", {"name": "Pot", "kind": "kettle", "volume_l": 10})
    rig.post("/probes", {"label": "Wort", "interval_s": 60})
    rig.patch("/probes/wort", {"vessel_id": "pot", "role": "liquid", "from": began.isoformat()})
    write(rig, "wort", [99.8] * BOILED + [99.8 - 4.0 * n for n in range(1, CHILLED + 1)], minute_of(began))
    body = {"name": "Short", "vessel_id": "pot", "plan": PLAN, "started_at": began.isoformat()}
    return str(rig.post("/batches", body)["id"])


CHILLING = (START - timedelta(minutes=CHILLED + 1)).strftime("%Y-%m-%dT%H:%M:%SZ")


def test_what_began_is_asked_with_its_time(rig: Rig, batch: str) -> None:
    asked = rig.get(f"/batches/{batch}/questions")["items"]

    assert [(q["what"], q["to"], q["at"]) for q in asked] == [("chill", "cool", CHILLING)]
    assert asked[0]["say"].endswith("Did chilling begin then?")


def test_yes_enters_the_stage_at_that_time_and_can_be_taken_back(rig: Rig, batch: str) -> None:
    answer = rig.post(f"/batches/{batch}/questions/chill/yes")
    after = rig.get(f"/batches/{batch}/questions")["items"]
    undone = rig.post(f"/batches/{batch}/undo")

    assert (answer["stage"], answer["stage_entered_at"]) == ("cool", CHILLING)
    assert after == []
    assert undone["stage"] == "boil"


def test_no_is_remembered_until_it_begins_anew(rig: Rig, batch: str) -> None:
    refused = rig.client.post(f"/api/v1/batches/{batch}/questions/chill/no")
    after = rig.get(f"/batches/{batch}/questions")["items"]

    def earlier(connection: Any) -> None:
        set_mark(connection, f"no-answer:{batch}", {"chill#cool": "2026-11-25T06:00:00Z"})

    rig.record.write(earlier)
    again = rig.get(f"/batches/{batch}/questions")["items"]

    assert refused.status_code == 204
    assert after == []
    assert [q["what"] for q in again] == ["chill"]


@pytest.mark.parametrize("what", ["boil", "crash"])
@pytest.mark.parametrize("word", ["yes", "no"])
def test_what_is_not_asked_cannot_be_answered(rig: Rig, batch: str, what: str, word: str) -> None:
    answer = rig.post(f"/batches/{batch}/questions/{what}/{word}", expect=404)

    assert "not asked" in answer["detail"]
    assert rig.get(f"/batches/{batch}")["stage"] == "boil"


def test_an_ended_batch_is_asked_nothing(rig: Rig, batch: str) -> None:
    rig.post(f"/batches/{batch}/advance", {"to": "end"})

    assert rig.get(f"/batches/{batch}/questions")["items"] == []


def test_the_time_asked_about_is_one_that_an_advance_takes(rig: Rig, batch: str) -> None:
    (question,) = rig.get(f"/batches/{batch}/questions")["items"]

    answer = rig.post(f"/batches/{batch}/advance", {"to": question["to"], "at": question["at"]})

    assert datetime.fromisoformat(answer["stage_entered_at"]) == datetime.fromisoformat(CHILLING)
