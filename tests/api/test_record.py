"""A batch's record going out: valid by its published schema, and read back by readers that are not ours."""

import csv
import io
import json
import sqlite3
import subprocess
import tracemalloc
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import jsonschema
import pytest

from service.actions.export import record_csv, record_json
from service.record.minutes import MinuteRow, write_minutes
from service.watch.fold import minute_of
from tests.record.filled import fill
from tests.rig import PROBE, START, Rig, rig_in, with_batch


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Rig, str]]:
    with rig_in(tmp_path_factory.mktemp("filled")) as rig:
        yield rig, fill(rig)


def validator(rig: Rig) -> jsonschema.Draft202012Validator:
    schema = rig.get("/batches/record.schema.json")
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(
        schema, format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER
    )


def test_a_record_fits_the_published_schema_and_says_what_was_written_down(filled: tuple[Rig, str]) -> None:
    rig, batch = filled

    record = rig.get(f"/batches/{batch}/record.json")

    validator(rig).validate(record)
    assert record["batch"]["id"] == batch
    assert record["notes"][-1]["text"] == 'Smells of <b>bread</b> & \U0001f35e, "quoted"; a, b\nsecond'
    assert record["readings"][0]["corrected_sg"] == pytest.approx(1.046, abs=0.001)
    assert record["packagings"][0]["units"][0]["count"] == 9
    assert "above-band" in {alarm["key"] for alarm in record["alarms"]}
    assert record["alarms"][0]["transitions"]
    assert {v["id"] for v in record["vessels"]} == {"bucket"}
    assert {(m["probe_id"], m["role"]) for m in record["minutes"]} == {
        (PROBE, "liquid"),
        ("cupboard", "surroundings"),
    }


def test_the_minutes_of_a_record_are_the_stored_ones_calibrated(filled: tuple[Rig, str]) -> None:
    rig, batch = filled

    record = rig.get(f"/batches/{batch}/record.json")

    with closing(sqlite3.connect(rig.folder / "record.db")) as connection:
        number = connection.execute("SELECT number FROM probe WHERE id = ?", (PROBE,)).fetchone()[0]
        stored = connection.execute(
            "SELECT minute, mean_mc, count FROM minute WHERE probe = ? ORDER BY minute", (number,)
        ).fetchall()
    rows = next(m["rows"] for m in record["minutes"] if m["probe_id"] == PROBE)
    offset_c = next(p["calibrations"][0]["offset_c"] for p in record["probes"] if p["id"] == PROBE)
    assert offset_c == pytest.approx(0.2)
    assert [(datetime.fromisoformat(r[0]).timestamp() / 60, r[4]) for r in rows] == [
        (float(minute), count) for minute, _, count in stored
    ]
    assert [r[1] for r in rows] == [pytest.approx(mean / 1000 + 0.2, abs=0.0006) for _, mean, _ in stored]


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda r: r.pop("notes"), "'notes' is a required property"),
        (lambda r: r.update(colour="red"), "Additional properties"),
        (lambda r: r["minutes"][0]["rows"][0].__setitem__(1, "warm"), "is not of type 'number'"),
        (lambda r: r["batch"].pop("og"), "'og' is a required property"),
        (lambda r: r["readings"][0].update(sg="1.046"), "1.046"),
        (lambda r: r.update(version=2), "1 was expected"),
    ],
)
def test_the_schema_refuses_what_is_no_record(filled: tuple[Rig, str], spoil: Any, words: str) -> None:
    rig, batch = filled
    record = rig.get(f"/batches/{batch}/record.json")
    spoil(record)

    with pytest.raises(jsonschema.ValidationError) as refused:
        validator(rig).validate(record)

    assert words in str(refused.value)


def test_the_csv_is_read_back_by_pythons_reader(filled: tuple[Rig, str]) -> None:
    rig, batch = filled
    record = rig.get(f"/batches/{batch}/record.json")

    text = rig.client.get(f"/api/v1/batches/{batch}/record.csv").text
    rows = list(csv.DictReader(io.StringIO(text, newline=""), strict=True))

    expected = sorted(
        (row[0], m["probe_id"], m["role"], row[1], row[2], row[3], row[4])
        for m in record["minutes"]
        for row in m["rows"]
    )
    found = sorted(
        (
            r["time (UTC)"],
            r["probe"],
            r["role"],
            float(r["mean (C)"]),
            float(r["lowest (C)"]),
            float(r["highest (C)"]),
            int(r["values"]),
        )
        for r in rows
    )
    assert found == expected
    assert [r["time (UTC)"] for r in rows] == sorted(r["time (UTC)"] for r in rows)
    bands = {
        (r["stage"], float(r["target (C)"]), float(r["band low (C)"]), float(r["band high (C)"]))
        for r in rows
    }
    assert bands == {("primary", 20.0, 18.5, 21.5)}
    assert text.count("\r\n") == len(rows) + 1 == text.count("\n")


@pytest.mark.component
def test_the_csv_is_read_back_by_sqlites_reader(filled: tuple[Rig, str], tmp_path: Path) -> None:
    rig, batch = filled
    (tmp_path / "record.csv").write_bytes(rig.client.get(f"/api/v1/batches/{batch}/record.csv").content)
    query = 'SELECT count(*) AS n, sum("mean (C)") AS s, min("time (UTC)") AS t FROM r'
    commands = [".import --csv record.csv r", ".mode json", query]

    done = subprocess.run(
        ["sqlite3", ":memory:", *commands], cwd=tmp_path, capture_output=True, text=True, check=True
    )

    record = rig.get(f"/batches/{batch}/record.json")
    means = [row[1] for m in record["minutes"] for row in m["rows"]]
    said = json.loads(done.stdout)[0]
    assert said["n"] == len(means)
    assert said["s"] == pytest.approx(sum(means))
    assert said["t"] == "2026-11-25T08:00:00Z"


def test_local_times_carry_the_offset_of_their_season(tmp_path: Path) -> None:
    from dataclasses import replace

    with rig_in(tmp_path) as rig:
        rig.clock.at = datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
        batch = with_batch(rig)
        rig.until(3600)
        desk = replace(rig.desk, zone=ZoneInfo("Europe/Berlin"))

        rows = list(csv.DictReader(io.StringIO("".join(record_csv(desk, batch)), newline="")))

    local = [row["local time (Europe/Berlin)"] for row in rows]
    assert (local[0], local[-1][:16], local[-1][-6:]) == (
        "2026-10-25T02:30:00+02:00",
        "2026-10-25T02:29",
        "+01:00",
    )
    assert len(set(local)) == len(local)
    assert [datetime.fromisoformat(t) for t in local] == [
        datetime.fromisoformat(row["time (UTC)"]) for row in rows
    ]


def test_a_batch_without_any_temperatures_has_a_record_too(rig: Rig) -> None:
    rig.post("/vessels", {"name": "Bucket"})
    plan = {"name": "p", "stages": [{"key": "p", "kind": "primary", "target_c": 19}]}
    batch = rig.post("/batches", {"name": "\U0001f37a <i>&", "vessel_id": "bucket", "plan": plan})["id"]

    record = rig.get(f"/batches/{batch}/record.json")

    validator(rig).validate(record)
    assert record["minutes"] == []
    assert record["batch"]["name"] == "\U0001f37a <i>&"
    assert len(rig.client.get(f"/api/v1/batches/{batch}/record.csv").text.splitlines()) == 1


@pytest.mark.parametrize("what", ["record.json", "record.csv"])
def test_a_batch_that_is_not_there_is_a_404(rig: Rig, what: str) -> None:
    answer = rig.client.get(f"/api/v1/batches/nobody/{what}")

    assert answer.status_code == 404
    assert answer.headers["content-type"] == "application/problem+json"


def test_a_long_record_goes_out_in_constant_memory(tmp_path: Path) -> None:
    def peak(days: int) -> int:
        folder = tmp_path / str(days)
        folder.mkdir()
        with rig_in(folder) as rig:
            batch = with_batch(rig)
            first = minute_of(START)
            rig.record.write(
                lambda connection: write_minutes(
                    connection,
                    [MinuteRow(1, first + n, 20_000 + n % 7, 0, 1, 6) for n in range(1, days * 1440)],
                )
            )
            rig.clock.at += timedelta(days=days)
            tracemalloc.start()
            try:
                sizes = [
                    sum(len(piece) for piece in pieces(rig.desk, batch))
                    for pieces in (record_json, record_csv)
                ]
                assert min(sizes) > days * 1440 * 30
                return tracemalloc.get_traced_memory()[1]
            finally:
                tracemalloc.stop()

    assert peak(30) < 1.3 * peak(12)
