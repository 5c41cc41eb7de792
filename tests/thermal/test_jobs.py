"""The worker's JSON, there and back, and the process itself."""

import io
import json
import subprocess
import sys
from datetime import timedelta
from typing import Any

import pytest

from service.errors import InvalidInputError
from service.thermal.estimate import estimate
from service.thermal.inputs import (
    Addition,
    GravityReading,
    Near,
    ReadBy,
    Sighting,
    Span,
    Switch,
    VesselPrior,
    YeastRange,
)
from service.thermal.jobs import estimate_from, estimate_input, to_json
from service.thermal.worker import main
from tests.thermal.build import PITCHED, batch, known

MADE = batch(hours=40)
FULL = known(
    MADE,
    40,
    near=(Near.FAN,),
    readings=(GravityReading(PITCHED + timedelta(hours=30), 1.03, ReadBy.WEIGHT, 0.4),),
    sightings=(Sighting(PITCHED + timedelta(hours=20), "foam-up"),),
    additions=(Addition(PITCHED + timedelta(hours=10), 4.0),),
    moves=(PITCHED + timedelta(hours=25),),
    cooled=(Span(PITCHED + timedelta(hours=39)),),
    heater=(Switch(PITCHED, True),),
    yeast=YeastRange(0.72, 0.8),
    vessel=VesselPrior(8.0, 0.1, 2),
)


def test_an_input_comes_back_from_its_json() -> None:
    assert estimate_input(json.loads(json.dumps(to_json(FULL)))) == FULL


def test_an_estimate_comes_back_from_its_json() -> None:
    answer = estimate(known(MADE, 40))

    assert estimate_from(json.loads(json.dumps(to_json(answer)))) == answer


def changed(**members: Any) -> dict[str, Any]:
    return {**to_json(known(MADE, 8)), **members}


@pytest.mark.parametrize(
    "wrong, field",
    [
        ({"at": "2026-02-03T09:00:00"}, "/at"),
        ({"at": 5}, "/at"),
        ({"strange": 1}, "/strange"),
        ({"mounting": "hung"}, "/mounting"),
        ({"beer": {"start": "2026-02-03T09:00:00Z", "minutes": [1, 2], "temp_c": [3]}}, "/beer"),
        ({"beer": {"start": "2026-02-03T09:00:00Z", "minutes": ["x"], "temp_c": [3]}}, "/beer"),
        ({"readings": [{"sg": 1.01}]}, "/readings/0"),
        ({"readings": [{"at": "2026-02-03T09:00:00Z", "sg": "thin"}]}, "/readings/0"),
    ],
)
def test_bad_input_names_its_member(wrong: dict[str, Any], field: str) -> None:
    with pytest.raises(InvalidInputError) as caught:
        estimate_input(changed(**wrong))

    assert caught.value.problems[0].field == field


def ask(text: str) -> tuple[int, dict[str, Any]]:
    out = io.StringIO()
    code = main(io.StringIO(text), out)
    return code, json.loads(out.getvalue())


def test_it_answers_one_job_or_several() -> None:
    one = to_json(known(MADE, 4))

    code, answer = ask(json.dumps({"kind": "estimate", "input": one}))
    _, both = ask(json.dumps({"kind": "estimates", "inputs": [one, one]}))

    assert code == 0
    assert answer["answer"]["verdict"] == "waiting"
    assert [a["verdict"] for a in both["answers"]] == ["waiting", "waiting"]


@pytest.mark.parametrize("text", ["no json", '{"kind": "dance"}', '{"kind": "estimate", "input": {"at": 1}}'])
def test_a_bad_job_is_refused_with_its_reason(text: str) -> None:
    code, answer = ask(text)

    assert code == 2
    assert answer["ok"] is False
    assert answer["errors"][0]["problem"]


def test_the_process_reads_a_job_and_ends() -> None:
    job = json.dumps({"kind": "estimate", "input": to_json(known(MADE, 36))})

    done = subprocess.run(
        [sys.executable, "-m", "service.thermal.worker"],
        input=job,
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )

    assert json.loads(done.stdout)["answer"]["gravity"]["low"] > 1.0


def test_light_modules_load_no_arrays() -> None:
    names = (
        "adrift beer brewdays forecast habit inputs jobs rehearsal remedies results unattended vessel "
        "warmth words worker"
    )
    code = "import sys\n" + "".join(f"import service.thermal.{n}\n" for n in names.split())

    done = subprocess.run(
        [sys.executable, "-c", f"{code}print('numpy' in sys.modules)"],
        capture_output=True,
        text=True,
        check=True,
    )

    assert done.stdout.strip() == "False"
