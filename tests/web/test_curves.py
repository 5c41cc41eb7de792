"""What a chart's script is given: in the brewer's units, compressed, and honest about what is not there."""

import gzip
import json
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.rig import Rig
from tests.web import fake_chart
from tests.web.conftest import Visit
from tests.web.fake_house import FakeHouse
from tests.web.fakes import NOON, brew, larger, room_c
from tests.web.markup import read
from tests.web.visitor import Visitor
from web.chart import Curves, Line, Moment, Story, parts_of
from web.words import Taste

PATH = "/batches/brown-2026-11-22/chart"


def house(**more: object) -> FakeHouse:
    return FakeHouse([larger()], told=fake_chart.story(), **more)  # type: ignore[arg-type]


def test_curves_come_with_their_first_time_their_step_and_gaps_as_nothing(visit: Visit) -> None:
    found = visit(house()).get(PATH).json()

    liquid, air = found["probes"]
    at = datetime.fromtimestamp(found["t0"], UTC)
    assert (found["step"], found["count"], len(liquid["mean"])) == (300, 289, 289)
    assert (liquid["role"], air["role"]) == ("liquid", "surroundings")
    assert air["mean"][0] == round(room_c(at.replace(microsecond=NOON.microsecond)), 2)
    assert None in liquid["mean"]
    assert "stages" not in found


def test_the_story_comes_when_it_is_asked_for(visit: Visit) -> None:
    found = visit(house()).get(f"{PATH}?story=1").json()

    assert [words for _, words in found["stages"]] == ["mash", "primary"]
    assert found["readings"][-1][1:] == [1.0242, 1.0231, 1.0253, "Hydrometer: 1.0240 SG at 21.0 C"]
    assert len(found["ahead"]) == 49
    assert found["ahead"][0][0] == int(NOON.timestamp())


def test_a_way_ahead_that_is_not_known_yet_is_told_from_none_at_all(visit: Visit) -> None:
    waiting = visit(FakeHouse([larger()], told=Story())).get(f"{PATH}?story=1").json()
    none = visit(FakeHouse([larger()], told=Story(ahead=()))).get(f"{PATH}?story=1").json()

    assert waiting["ahead"] is None
    assert none["ahead"] == []


def test_values_come_in_the_brewers_units(visit: Visit) -> None:
    cold = visit(house()).get(f"{PATH}?story=1").json()
    warm = visit(house(likes=Taste(units="F", gravity="Plato"))).get(f"{PATH}?story=1").json()

    assert warm["probes"][0]["mean"][0] == pytest.approx(cold["probes"][0]["mean"][0] * 1.8 + 32, abs=0.02)
    assert warm["band"][0]["low"] == pytest.approx(65.3)
    assert warm["readings"][0][1] == pytest.approx(11.91, abs=0.02)


def test_it_is_compressed_for_those_who_ask(visit: Visit) -> None:
    plain = visit(house()).get(PATH, headers={"Accept-Encoding": "identity"})
    squeezed = visit(house()).get(PATH, headers={"Accept-Encoding": "gzip"})

    assert "content-encoding" not in plain.headers
    assert squeezed.headers["content-encoding"] == "gzip"
    assert int(squeezed.headers["content-length"]) < int(plain.headers["content-length"]) / 2
    assert squeezed.json() == plain.json()
    assert json.loads(gzip.decompress(gzip.compress(plain.content))) == plain.json()


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("/batches/nothing/chart", 404),
        (f"{PATH}?points=1", 422),
        (f"{PATH}?points=99999", 422),
        (f"{PATH}?from=-5", 422),
        (f"{PATH}?from=soon", 422),
    ],
)
def test_what_cannot_be_drawn_is_refused(visit: Visit, path: str, status: int) -> None:
    assert visit(house()).get(path).status_code == status


def test_the_running_service_gives_the_minutes_it_has(visitor: Visitor, rig: Rig) -> None:
    vessel = rig.client.post("/api/v1/vessels", json={"name": "Bucket", "volume_l": 5}).json()["id"]
    stage = {"key": "primary", "kind": "primary", "target_c": 20, "low_c": 18, "high_c": 22, "ends": "brewer"}
    body = {"name": "Try", "vessel_id": vessel, "plan": {"name": "Try", "stages": [stage]}}
    batch = rig.client.post("/api/v1/batches", json=body).json()["id"]
    note = {"text": "Smells of bread."}
    rig.client.post(f"/api/v1/batches/{batch}/notes", json=note)
    reading = {"by": "hydrometer", "sg": 1.048, "sample_c": 20}
    rig.client.post(f"/api/v1/batches/{batch}/readings", json=reading)

    found = visitor.get(f"/batches/{batch}/chart?story=1").json()

    assert [words for _, words in found["stages"]] == ["primary"]
    assert [words for _, words in found["moments"]] == ["Smells of bread."]
    assert found["readings"][0][1] == 1.048
    assert (found["band"][0]["low"], found["band"][0]["high"]) == (18, 22)
    backwards = visitor.get(f"/batches/{batch}/chart?from=2000000000&to=1000000000")
    assert backwards.status_code == 422


def test_the_page_of_a_batch_brings_its_first_chart_along(visit: Visit) -> None:
    moments = [Moment(NOON, "</script><script>alert(1)</script>")]
    told = Story(ahead=(), moments=moments)

    answer = visit(FakeHouse([larger()], brews=[brew()], told=told)).get("/batches/brown-2026-11-22")

    page = read(answer.text)
    (first,) = page.all("script", type="application/json")
    found = json.loads("".join(str(child) for child in first.children))
    assert found["count"] == 289
    assert found["moments"] == [[int(NOON.timestamp()), "</script><script>alert(1)</script>"]]
    assert "<script>alert(1)" not in answer.text


def line_of(*means: float | None) -> Line:
    return Line("well", "liquid", means, [m and m - 1 for m in means], [m and m + 1 for m in means])


def test_the_tables_parts_are_whole_hours_with_the_extremes_of_their_buckets() -> None:
    begins = NOON.replace(minute=50, second=0)
    curves = Curves(begins, 300, 6, [line_of(10, 12, 20, 22, None, 24)])

    rows, part = parts_of(curves, "liquid", 2)

    assert part == timedelta(hours=1)
    assert [f"{row.starts_at:%H:%M}" for row in rows] == ["12:00", "13:00"]
    assert [(row.mean_c, row.min_c, row.max_c) for row in rows] == [(11, 9, 13), (22, 19, 25)]


def test_a_part_without_a_measurement_says_so_and_another_role_has_none() -> None:
    curves = Curves(NOON.replace(minute=0, second=0), 3600, 3, [line_of(10, None, 12)])

    assert [row.mean_c for row in parts_of(curves, "liquid", 60)[0]] == [10, None, 12]
    assert parts_of(curves, "surroundings", 60)[0] == ()


@given(
    count=st.integers(1, 3000), step=st.sampled_from([60, 300, 3600, 21_600, 86_400]), most=st.integers(2, 60)
)
@settings(max_examples=60, deadline=None)
def test_there_are_never_more_parts_than_asked_for_and_every_bucket_is_in_one(
    count: int, step: int, most: int
) -> None:
    curves = Curves(NOON.replace(minute=0, second=0), step, count, [line_of(*[20.0] * count)])

    rows, part = parts_of(curves, "liquid", most)

    assert 1 <= len(rows) <= most
    assert part.total_seconds() >= step
    assert all(row.mean_c == pytest.approx(20.0) for row in rows)
    last = NOON.replace(minute=0, second=0) + timedelta(seconds=step * (count - 1))
    assert rows[0].starts_at <= NOON.replace(minute=0, second=0)
    assert rows[-1].starts_at <= last < rows[-1].starts_at + part
