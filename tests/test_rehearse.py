"""`gylewatch rehearse` as a user meets it."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.actions.brewed import PLAN
from tests.actions.test_replay import finished
from tests.rig import Rig
from tests.test_cli import called

PRIMARY = {**PLAN["stages"][0], "target_c": 20, "high_c": 21.5}
ALE = {"name": "Ale", "stages": [PRIMARY]}


@pytest.fixture
def plan(tmp_path: Path) -> str:
    """A file with a plan."""
    file = tmp_path / "ale.json"
    file.write_text(json.dumps(ALE))
    return str(file)


@pytest.mark.component
def test_a_plan_is_rehearsed_as_text_of_80_columns(plan: str) -> None:
    done = called(
        "rehearse", plan, "--volume", "20", "--room", "20", "--swing", "1", "--season", "summer=26",
        "--wanted", "2027-05-01T12:00:00Z", TIMEZONE="UTC",
    )  # fmt: skip

    assert (done.returncode, done.stderr) == (0, "")
    for words in ("20 l of 1.048", "Warmest:", "Too warm from", "of ice a day", "Pitch by", "summer"):
        assert words in done.stdout
    assert max(len(line) for line in done.stdout.splitlines()) <= 80


@pytest.mark.component
def test_a_plan_is_rehearsed_for_machines_as_the_api_answers(plan: str) -> None:
    done = called("rehearse", plan, "--volume", "5", "--room", "18", "--json", "--season", "cold=8")

    answer: dict[str, Any] = json.loads(done.stdout)
    assert set(answer) == {"points", "strays", "unreachable", "advice", "seasons"}
    assert answer["seasons"][0]["cold_h"] > 24


@pytest.mark.component
def test_a_room_can_be_given_as_a_trace(plan: str, tmp_path: Path) -> None:
    trace = tmp_path / "room.json"
    trace.write_text(json.dumps([15.0] * 72))

    done = called("rehearse", plan, "--volume", "5", "--trace", str(trace), "--json")

    assert json.loads(done.stdout)["points"][-1]["temp_c"] == pytest.approx(15, abs=0.3)


@pytest.mark.component
@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        ([], 2, "a plan or --batch"),
        (["PLAN", "--batch", "x"], 2, "a plan or --batch"),
        (["PLAN", "--room", "19"], 1, "/volume_l"),
        (["PLAN", "--volume", "5"], 1, "/surroundings_c"),
        (["PLAN", "--volume", "-5", "--room", "19"], 1, "/volume_l"),
        (["PLAN", "--volume", "5", "--room", "19", "--starts", "tomorrow"], 1, "/starts_at"),
        (["PLAN", "--volume", "5", "--room", "19", "--season", "warm"], 1, "--season"),
        (["PLAN", "--volume", "5", "--room", "19", "--away", "May"], 1, "--away"),
        (["PLAN", "--volume", "many"], 2, "--volume"),
        (["missing.json", "--volume", "5", "--room", "19"], 1, "missing.json"),
        (["stored", "--volume", "5", "--room", "19"], 1, "no record"),
        (["--batch", "brown"], 1, "no record"),
    ],
)
def test_what_is_wrong_is_one_sentence_with_its_exit_code(
    plan: str, tmp_path: Path, words: list[str], code: int, said: str
) -> None:
    done = called("rehearse", *(plan if w == "PLAN" else w for w in words), DATA_DIR=tmp_path / "none")

    assert done.returncode == code, done.stderr
    assert said in done.stderr
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "none").exists()


@pytest.mark.component
def test_a_broken_plan_is_named_with_its_field(tmp_path: Path) -> None:
    file = tmp_path / "broken.json"
    file.write_text('{"name": "x", "stages": [{"key": "a", "kind": "stew"}]}')

    done = called("rehearse", str(file), "--volume", "5", "--room", "19")

    assert done.returncode == 1
    assert "/stages/0/kind" in done.stderr


@pytest.mark.component
def test_a_batch_is_replayed_and_its_scores_are_kept(rig: Rig) -> None:
    name = finished(rig)

    said = called("rehearse", "--batch", name, DATA_DIR=rig.folder)
    machine = called("rehearse", "--batch", name, "--json", DATA_DIR=rig.folder)

    assert (said.returncode, said.stderr) == (0, "")
    assert "Forecast, 12 hours ahead: It was" in said.stdout
    kept = rig.get(f"/batches/{name}/summary")["scores"]
    assert json.loads(machine.stdout) == {"batch_id": name, **kept}


@pytest.mark.component
def test_a_stored_plan_and_a_vessel_are_taken_from_the_record(rig: Rig) -> None:
    rig.post("/plans", ALE)
    rig.post("/vessels", {"name": "Tub", "volume_l": 12})

    done = called("rehearse", "ale", "--vessel", "tub", "--room", "19", DATA_DIR=rig.folder)
    lost = called("rehearse", "ale", "--vessel", "vat", "--room", "19", DATA_DIR=rig.folder)

    assert "12 l of 1.048" in done.stdout
    assert lost.returncode == 1
    assert "vessels: tub" in lost.stderr
