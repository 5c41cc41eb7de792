"""The last part of a batch through the API: squeezed, opened, tasted, and what its record has to say."""

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from sqlalchemy import Connection

from service.record.minutes import MinuteRow, write_minutes
from service.record.vessels import probe_by_id
from service.watch.fold import minute_of
from tests.actions.brewed import PLAN, with_probes
from tests.rig import START, Rig, rig_in


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    with rig_in(tmp_path) as made:
        yield made


def ago(days: float) -> str:
    return (START - timedelta(days=days)).isoformat()


def keep(rig: Rig, temps: list[float], first_minute: int) -> None:
    """A value every quarter of an hour, the same for each hour."""

    def work(connection: Connection) -> None:
        number = probe_by_id(connection, "beer").number
        write_minutes(
            connection,
            [
                MinuteRow(number, first_minute + 60 * hour + at, round(temp_c * 1000), 0, 0, 6)
                for hour, temp_c in enumerate(temps)
                for at in (0, 15, 30, 45)
            ],
        )

    rig.record.write(work)


def brew(rig: Rig, name: str, days: int, early_c: float, bottles_c: float = 18.0, **more: Any) -> str:
    """A batch of so many days in the tub: early_c for two days, then 19.5 C; packaged after 14 days."""
    began = START - timedelta(days=days)
    temps = [early_c] * 48 + [19.5] * (12 * 24) + [bottles_c] * (26 * 24)
    keep(rig, temps[: days * 24], minute_of(began))
    body = {"name": name, "vessel_id": "tub", "plan": PLAN, "og": 1.048, "started_at": began.isoformat()}
    batch = str(rig.post("/batches", {**body, "expected_fg": 1.011, **more})["id"])
    rig.post(f"/batches/{batch}/advance", {"to": "bottles", "at": ago(days - 14)})
    return batch


def pack(rig: Rig, batch: str, days: float, sugar_g: float | None = 55.0) -> None:
    body: dict[str, Any] = {"units": [{"kind": "bottle", "size_l": 0.5, "count": 18}], "at": ago(days)}
    if sugar_g is not None:
        body |= {"sugar": "white", "sugar_g": sugar_g}
    rig.post(f"/batches/{batch}/packagings", body)


@pytest.fixture
def batch(rig: Rig) -> str:
    """Hot in its first two days (26 C; the band ends at 24 C), measured steady, packaged 26 days ago."""
    with_probes(rig, ago(200), air=False)
    made = brew(rig, "Attic ale", 40, 26.0)
    for days in (31, 28, 26.1):
        rig.post(f"/batches/{made}/readings", {"sg": 1.011, "at": ago(days)})
    pack(rig, made, 26)
    return made


def test_a_tasting_is_kept_changed_and_taken_out(rig: Rig, batch: str) -> None:
    made = rig.post(
        f"/batches/{batch}/tastings", {"words": "Rough, \U0001f975 <b>hot</b>", "faults": ["hot"]}
    )
    changed = rig.patch(f"/batches/{batch}/tastings/{made['n']}", {"faults": ["hot", "flat"]})
    listed = rig.get(f"/batches/{batch}/tastings")["items"]
    gone = rig.client.delete(f"/api/v1/batches/{batch}/tastings/{made['n']}")

    assert changed["words"] == "Rough, \U0001f975 <b>hot</b>"
    assert listed == [changed]
    assert gone.status_code == 204
    assert rig.get(f"/batches/{batch}/tastings")["items"] == []


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({}, ""),
        ({"words": "   "}, ""),
        ({"faults": ["hot", "hot"]}, ""),
        ({"faults": ["skunky"]}, "/faults/0"),
        ({"words": "x", "score": 5}, "/score"),
        ({"words": "x", "at": "2026-11-26T08:00:00Z"}, "/at"),
    ],
)
def test_a_tasting_that_says_nothing_or_too_much_is_refused(
    rig: Rig, batch: str, body: dict[str, Any], field: str
) -> None:
    answer = rig.post(f"/batches/{batch}/tastings", body, expect=422)

    assert field in {problem["field"] for problem in answer["errors"]}
    assert rig.get(f"/batches/{batch}/tastings")["items"] == []


def test_a_hot_beer_is_explained_by_its_warm_hours(rig: Rig, batch: str) -> None:
    rig.post(f"/batches/{batch}/tastings", {"faults": ["hot"]})

    (found,) = rig.get(f"/batches/{batch}/faults")["items"]

    assert (found["fault"], found["likelihood"]) == ("hot", "could well")
    (cause,) = found["causes"]
    assert cause["key"] == "warm-early"
    assert "above 24.0 C (the top of the plan's band) for 48 hours, up to 26.0 C" in cause["sentence"]
    assert [cause["hours"][0]["from"], cause["hours"][0]["to"]] == [
        (START - timedelta(days=days)).strftime("%Y-%m-%dT%H:%M:%SZ") for days in (40, 38)
    ]
    assert "common practice" in found["source"]


def test_a_fault_that_the_record_does_not_explain_says_so(rig: Rig, batch: str) -> None:
    rig.post(f"/batches/{batch}/tastings", {"faults": ["flat", "gushing"]})

    found = {one["fault"]: one for one in rig.get(f"/batches/{batch}/faults")["items"]}

    assert found["flat"]["sentence"] == "Nothing in the record explains it."
    assert found["gushing"]["sentence"] == "Nothing in the record explains it."


def test_bottles_that_gush_without_a_reading_could_well_have_been_unfinished(rig: Rig) -> None:
    with_probes(rig, ago(200), air=False)
    batch = brew(rig, "Hasty", 30, 19.5)
    pack(rig, batch, 16, sugar_g=None)
    rig.post(f"/batches/{batch}/tastings", {"faults": ["gushing", "flat"]})

    found = {one["fault"]: one for one in rig.get(f"/batches/{batch}/faults")["items"]}

    assert [c["key"] for c in found["gushing"]["causes"]] == ["not-steady"]
    assert found["gushing"]["likelihood"] == "could well"
    assert found["flat"]["likelihood"] == "might"
    assert {c["key"] for c in found["flat"]["causes"]} == {"few-warm-days", "little-sugar"}


def test_what_batches_with_a_fault_share_is_counted_against_those_without(rig: Rig, batch: str) -> None:
    rig.post(f"/batches/{batch}/advance", {"to": "end"})
    rig.post(f"/batches/{batch}/tastings", {"faults": ["hot"]})
    cool = brew(rig, "Cellar ale", 120, 19.5)
    rig.post(f"/batches/{cool}/advance", {"to": "end", "at": ago(90)})
    rig.post(f"/batches/{cool}/tastings", {"words": "Clean.", "at": ago(90)})
    other = brew(rig, "Loft ale", 80, 25.5)
    rig.post(f"/batches/{other}/advance", {"to": "end", "at": ago(50)})
    rig.post(f"/batches/{other}/tastings", {"faults": ["hot"], "at": ago(50)})

    (found,) = rig.get("/faults", fault="hot")["items"]

    assert set(found["with_fault"]) == {batch, other}
    assert found["without_fault"] == [cool]
    assert found["causes"] == [{"key": "warm-early", "with_fault": [batch, other], "without_fault": []}]
    assert found["sentence"] == (
        "'warm-early' is in the record of 2 of 2 with 'hot' and of 0 of 1 tasted without it. "
        "So few batches may agree by chance."
    )
    assert rig.get("/faults", fault="butter")["items"] == []


def test_an_opened_bottle_that_fell_is_a_caution_and_explains_gushing(rig: Rig, batch: str) -> None:
    opened = rig.post(f"/batches/{batch}/openings", {"sg": 1.007})
    rig.post(f"/batches/{batch}/tastings", {"faults": ["gushing"]})

    (found,) = rig.get(f"/batches/{batch}/faults")["items"]

    assert opened["corrected_sg"] == pytest.approx(1.007, abs=0.0005)
    assert opened["fell_pt"] == pytest.approx(4.0, abs=0.1)
    assert opened["fell"] is True
    assert any("do not move or open them warm" in caution for caution in opened["cautions"])
    assert [c["key"] for c in found["causes"]] == ["fell-after"]


def test_a_record_holds_what_was_tasted_and_what_explains_it(rig: Rig, batch: str) -> None:
    rig.post(f"/batches/{batch}/tastings", {"words": "Rough", "faults": ["hot"]})
    rig.post(f"/batches/{batch}/squeezes", {"firm": True})
    rig.post(f"/batches/{batch}/openings", {"sg": 1.011})

    record = rig.get(f"/batches/{batch}/record.json")

    jsonschema.Draft202012Validator(rig.get("/batches/record.schema.json")).validate(record)
    assert record["tastings"][0]["faults"] == ["hot"]
    assert record["squeezes"][0]["firm"] is True
    assert record["openings"][0]["fell"] is False
    assert record["faults"] == rig.get(f"/batches/{batch}/faults")["items"]
    assert record["faults"] == rig.get(f"/batches/{batch}/summary")["faults"]


def test_an_opened_bottle_does_not_change_what_the_fermenter_measured(rig: Rig, batch: str) -> None:
    before = rig.get(f"/batches/{batch}/readings")["items"]

    rig.post(f"/batches/{batch}/openings", {"sg": 1.0105})

    assert rig.get(f"/batches/{batch}/readings")["items"] == before


@pytest.mark.parametrize("body", [{}, {"sg": 1.01, "plato": 2.5}, {"sg": 3.0}])
def test_an_opening_that_is_no_gravity_is_refused(rig: Rig, batch: str, body: dict[str, Any]) -> None:
    rig.post(f"/batches/{batch}/openings", body, expect=422)

    assert rig.get(f"/batches/{batch}/openings")["items"] == []


def test_without_a_reading_before_it_an_opened_bottle_is_compared_with_nothing(rig: Rig) -> None:
    with_probes(rig, ago(200), air=False)
    batch = brew(rig, "Hasty", 30, 19.5)

    opened = rig.post(f"/batches/{batch}/openings", {"sg": 1.010})

    assert (opened["fell"], opened["says"], opened["cautions"]) == (None, None, [])


def test_squeezes_narrow_what_the_bottles_hold(rig: Rig, batch: str) -> None:
    before = rig.get(f"/batches/{batch}/conditioning")
    rig.post(f"/batches/{batch}/squeezes", {"firm": False, "at": ago(20)})
    rig.post(f"/batches/{batch}/squeezes", {"firm": False, "at": ago(10)})

    after = rig.get(f"/batches/{batch}/conditioning")

    # 26 days at 18 C are worth 26 x 2.5^(-0.2) = 21.6 days at 20 C
    assert before["warm_days"] == pytest.approx(21.6, abs=0.1)
    assert after["squeezes"] == 2
    assert after["volumes"]["value"] < before["volumes"]["value"]
    assert after["worth_opening_warm_days"]["value"] > before["worth_opening_warm_days"]["value"]


def test_what_a_conditioning_lacks_is_said(rig: Rig) -> None:
    with_probes(rig, ago(200), air=False)
    batch = brew(rig, "Hasty", 30, 19.5)

    early = rig.client.get(f"/api/v1/batches/{batch}/conditioning")
    pack(rig, batch, 16, sugar_g=None)
    unsaid = rig.client.get(f"/api/v1/batches/{batch}/conditioning")

    assert (early.status_code, unsaid.status_code) == (409, 409)
    assert "not in bottles yet" in early.json()["detail"]
    assert "how much sugar" in unsaid.json()["detail"]
