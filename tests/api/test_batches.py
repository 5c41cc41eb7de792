"""Plans, batches and their series through the API."""

import json
from datetime import timedelta
from typing import Any

import jsonschema
import pytest

from tests.rig import PLAN, PROBE, START, Rig, with_batch


def test_a_plan_is_stored_read_replaced_and_deleted(rig: Rig) -> None:
    made = rig.client.post("/api/v1/plans", json=PLAN)
    plan_id = made.json()["id"]
    other = {**PLAN, "name": "Stair dark"}

    stale = rig.client.put(f"/api/v1/plans/{plan_id}", json=other, headers={"If-Match": '"7"'})
    put = rig.client.put(f"/api/v1/plans/{plan_id}", json=other, headers={"If-Match": made.headers["etag"]})
    gone = rig.client.delete(f"/api/v1/plans/{plan_id}")

    assert (made.status_code, made.headers["location"]) == (201, f"/api/v1/plans/{plan_id}")
    assert stale.status_code == 412
    assert (put.json()["name"], put.headers["etag"]) == ("Stair dark", '"2"')
    assert gone.status_code == 204
    assert rig.client.get(f"/api/v1/plans/{plan_id}").status_code == 404


def test_a_stored_plan_is_accepted_again_and_fits_the_published_schema(rig: Rig) -> None:
    plan = rig.post("/plans", PLAN)
    body = {"name": plan["name"], "stages": plan["stages"]}

    jsonschema.validate(body, rig.get("/plans/schema.json"))
    again = rig.post("/plans", body)

    assert again["stages"] == plan["stages"]
    assert again["id"] == "stair-brown-2"


def test_editing_a_plan_changes_no_batch(rig: Rig) -> None:
    plan_id = rig.post("/plans", PLAN)["id"]
    rig.post("/vessels", {"name": "Bucket"})
    batch = rig.post("/batches", {"name": "b", "vessel_id": "bucket", "plan_id": plan_id})
    changed = json.loads(json.dumps(PLAN))
    changed["stages"][0]["high_c"] = 24

    rig.client.put(f"/api/v1/plans/{plan_id}", json=changed)

    assert rig.get(f"/batches/{batch['id']}")["plan"]["stages"][0]["high_c"] == 21.5


def test_a_past_start_goes_through_the_stages_that_end_by_time(rig: Rig) -> None:
    plan = {
        "name": "Day",
        "stages": [
            {"key": "rest", "kind": "mash", "target_c": 66, "lasts_s": 3600, "ends": "time"},
            {"key": "boil", "kind": "boil", "lasts_s": 3600, "ends": "time"},
            {"key": "primary", "kind": "primary", "target_c": 20, "ends": "brewer"},
        ],
    }
    began = START - timedelta(hours=3)

    batch = with_batch(rig, plan, started_at=began.isoformat())

    answer = rig.get(f"/batches/{batch}")
    stages = rig.get(f"/batches/{batch}/stages")["items"]
    assert answer["stage"] == "primary"
    assert answer["pitched_at"] == "2026-11-25T07:00:00Z"
    assert [(s["key"], s["entered_at"]) for s in stages] == [
        ("primary", "2026-11-25T07:00:00Z"),
        ("boil", "2026-11-25T06:00:00Z"),
        ("rest", "2026-11-25T05:00:00Z"),
    ]


def test_advancing_is_dated_and_taken_back(rig: Rig) -> None:
    batch = with_batch(rig)
    rig.clock.forward(7200)
    at = (START + timedelta(hours=1)).isoformat()

    advanced = rig.post(f"/batches/{batch}/advance", {"to": "cold", "at": at})
    undone = rig.post(f"/batches/{batch}/undo")
    nothing = rig.post(f"/batches/{batch}/undo", expect=409)

    assert (advanced["stage"], advanced["stage_entered_at"]) == ("cold", "2026-11-25T09:00:00Z")
    assert undone["stage"] == "primary"
    assert "nothing" in nothing["detail"].lower() or "no change" in nothing["detail"].lower()


@pytest.mark.parametrize(
    ("body", "status"),
    [
        ({"to": "nowhere"}, 422),
        ({"to": "primary"}, 409),
        ({"to": "cold", "at": "2026-11-25T07:00:00Z"}, 422),
        ({"to": "cold", "at": "2026-11-26T07:00:00Z"}, 422),
        ({"at": "2026-11-25T08:00:00Z"}, 422),
    ],
)
def test_a_step_that_cannot_be_is_refused(rig: Rig, body: dict[str, Any], status: int) -> None:
    batch = with_batch(rig)

    rig.post(f"/batches/{batch}/advance", body, expect=status)

    assert rig.get(f"/batches/{batch}")["stage"] == "primary"


def test_ending_frees_the_vessel_and_undoing_takes_it_again(rig: Rig) -> None:
    batch = with_batch(rig)
    ended = rig.post(f"/batches/{batch}/advance", {"to": "end"})
    other = rig.post("/batches", {"name": "Next", "vessel_id": "bucket", "plan": PLAN})

    refused = rig.post(f"/batches/{batch}/undo", expect=409)
    rig.post(f"/batches/{other['id']}/advance", {"to": "end"})
    again = rig.post(f"/batches/{batch}/undo")

    assert (ended["state"], ended["vessel_id"]) == ("ended", None)
    assert "Next" in refused["detail"]
    assert (again["state"], again["vessel_id"]) == ("running", "bucket")


def test_a_stages_time_and_length_are_put_right(rig: Rig) -> None:
    batch = with_batch(rig)
    rig.clock.forward(3600)

    moved = rig.patch(f"/batches/{batch}/stages/1", {"lasts_s": 900_000})
    rig.patch(f"/batches/{batch}/stages/9", {"lasts_s": 5}, expect=404)
    rig.patch(f"/batches/{batch}/stages/1", {"entered_at": "2027-01-01T00:00:00Z"}, expect=422)

    assert moved["stage_due_at"] == "2026-12-05T18:00:00Z"


def test_a_moved_batch_is_watched_where_it_is(rig: Rig) -> None:
    batch = with_batch(rig)
    rig.post("/vessels", {"name": "Fridge box"})
    rig.until(120)

    rig.post(f"/batches/{batch}/places", {"vessel_id": "fridge-box"})
    rig.post(f"/batches/{batch}/places", {"vessel_id": "fridge-box"}, expect=409)
    rig.post(f"/batches/{batch}/places", {"vessel_id": "nowhere"}, expect=404)

    places = rig.get(f"/batches/{batch}/places")["items"]
    assert [(p["vessel_id"], p["to"] is None) for p in places] == [("fridge-box", True), ("bucket", False)]
    assert rig.get("/vessels/bucket")["now"]["stage"] is None
    assert rig.get("/vessels/fridge-box")["now"]["stage"] == "primary"


def test_the_series_shows_curve_band_stray_and_gap(rig: Rig) -> None:
    batch = with_batch(rig)
    rig.until(300)
    rig.source.values[PROBE] = 22.0
    rig.until(300)
    rig.source.values[PROBE] = None
    rig.until(600)
    rig.source.values[PROBE] = 20.0
    rig.until(300)

    series = rig.get(f"/batches/{batch}/series", points=1000)

    probe = series["probes"][0]
    assert series["bucket_s"] == 60
    assert len(probe["t"]) == len(probe["mean_c"]) == len(probe["min_c"]) == len(probe["max_c"]) == 26
    assert (probe["t"][0], probe["mean_c"][0]) == ("2026-11-25T08:00:00Z", 20.0)
    assert probe["mean_c"][12] is None
    assert [(b["stage"], b["low_c"], b["high_c"]) for b in series["band"]] == [("primary", 18.5, 21.5)]
    stray = series["strays"][0]
    assert (stray["side"], stray["worst_c"], stray["stage"]) == ("warm", 22.0, "primary")
    gap = series["gaps"][0]
    assert gap["probe_id"] == PROBE
    assert ("2026-11-25T08:10" in gap["from"], "2026-11-25T08:2" in gap["to"]) == (True, True)


@pytest.mark.parametrize(
    ("params", "bucket_s"),
    [({"points": 5000}, 60), ({"points": 300}, 300), ({"points": 30}, 3600), ({"points": 5}, 21600)],
)
def test_buckets_are_as_fine_as_the_points_allow(rig: Rig, params: dict[str, int], bucket_s: int) -> None:
    batch = with_batch(rig, started_at=(START - timedelta(hours=20)).isoformat())

    series = rig.get(f"/batches/{batch}/series", **params)

    assert series["bucket_s"] == bucket_s


@pytest.mark.parametrize(
    "params",
    [
        {"points": 1},
        {"points": 100_000},
        {"points": "many"},
        {"from": "2026-11-25T08:00:00"},
        {"from": "2026-11-25T09:00:00Z", "to": "2026-11-25T08:00:00Z"},
    ],
)
def test_a_series_that_cannot_be_is_refused(rig: Rig, params: dict[str, Any]) -> None:
    batch = with_batch(rig)

    answer = rig.client.get(f"/api/v1/batches/{batch}/series", params=params)

    assert answer.status_code == 422


def test_lists_go_on_where_the_cursor_says(rig: Rig) -> None:
    for n in range(5):
        rig.post("/vessels", {"name": f"V{n}"})
        rig.clock.forward(1)

    first = rig.get("/vessels", limit=2)
    second = rig.get("/vessels", limit=2, cursor=first["next"])
    third = rig.get("/vessels", limit=2, cursor=second["next"])

    assert [v["id"] for page in (first, second, third) for v in page["items"]] == [
        "v4",
        "v3",
        "v2",
        "v1",
        "v0",
    ]
    assert third["next"] is None


def test_every_member_is_always_there(rig: Rig) -> None:
    rig.post("/vessels", {"name": "Bucket"})

    vessel = rig.get("/vessels/bucket")

    assert vessel == {
        "id": "bucket",
        "name": "Bucket",
        "kind": "fermenter",
        "wall": None,
        "volume_l": None,
        "near": [],
        "probes": [],
        "now": {
            "temp_c": None,
            "at": None,
            "age_s": None,
            "surroundings_c": None,
            "surroundings_note": None,
            "target_c": None,
            "low_c": None,
            "high_c": None,
            "stage": None,
            "batch_id": None,
            "trend_c_per_h": None,
            "leaves_band_at": None,
            "standing": 0,
        },
        "thermal": {"tau_h": {"value": None, "low": None, "high": None}, "learned_from": 0},
    }


def test_names_with_html_and_emoji_stay_text(rig: Rig) -> None:
    name = "<b>Bière 🍺</b>"

    vessel = rig.post("/vessels", {"name": name})

    assert vessel["name"] == name
    assert vessel["id"] == "b-biere-b"


def test_the_description_of_the_api_is_served_by_ourselves(rig: Rig) -> None:
    assert rig.get("/openapi.json")["info"]["title"] == "gylewatch"
    assert rig.client.get("/docs").status_code == 404


def test_a_batch_never_goes_on_in_a_vessel_that_is_gone(rig: Rig) -> None:
    batch = with_batch(rig)
    refused = rig.client.delete("/api/v1/vessels/bucket")
    rig.post(f"/batches/{batch}/advance", {"to": "end"})
    gone = rig.client.delete("/api/v1/vessels/bucket")

    answer = rig.post(f"/batches/{batch}/undo", expect=409)

    assert (refused.status_code, gone.status_code) == (409, 204)
    assert "taken away" in answer["detail"]
    assert rig.get(f"/batches/{batch}")["state"] == "ended"


def test_numbers_beyond_any_count_are_refused(rig: Rig) -> None:
    batch = with_batch(rig)
    huge = "9" * 30

    for path in (f"/probes/{PROBE}/calibrations/{huge}", f"/batches/{batch}/notes/{huge}"):
        assert rig.client.delete(f"/api/v1{path}").status_code == 422
