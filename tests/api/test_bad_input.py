import json
from typing import Any

import pytest

from tests.rig import PLAN, PROBE, Rig, with_batch

GOOD_CHANNEL = {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook"}


def problem(answer: Any) -> dict[str, Any]:
    """The answer as an RFC 9457 problem; it must be one."""
    assert answer.headers["content-type"] == "application/problem+json", answer.text
    body: dict[str, Any] = answer.json()
    assert {"type", "title", "status", "detail"} <= body.keys()
    assert body["status"] == answer.status_code
    assert body["detail"].endswith(".")
    return body


def send(rig: Rig, method: str, path: str, raw: bytes, kind: str = "application/json") -> Any:
    return rig.client.request(method, f"/api/v1{path}", content=raw, headers={"content-type": kind})


@pytest.mark.parametrize(
    ("raw", "status"),
    [
        (b"{", 400),
        (b"", 422),
        (b"[]", 422),
        (b'"text"', 422),
        (b"null", 422),
        (b'{"name": NaN}', 422),
        (b'{"name": "a", "volume_l": NaN}', 422),
        (b'{"name": "a", "volume_l": Infinity}', 422),
        (b'{"name": "a", "volume_l": 1e400}', 422),
        (b'{"name": "a", "volume_l": -1}', 422),
        (b'{"name": "a", "volume_l": "5"}', 422),
        (b'{"name": "a", "volume_l": true}', 422),
        (b'{"name": "\\ud800"}', 422),
        (b'{"name": "a\\u0000b"}', 422),
        (b'{"name": "   "}', 422),
        (b'{"name": "a", "colour": "red"}', 422),
        (b'{"name": "a", "kind": "cauldron"}', 422),
        (b'{"name": "a", "near": ["cat"]}', 422),
        (b"\xff\xfe", 400),
    ],
)
def test_a_bad_body_is_refused_in_words_and_makes_nothing(rig: Rig, raw: bytes, status: int) -> None:
    answer = send(rig, "POST", "/vessels", raw)

    assert answer.status_code == status
    body = problem(answer)
    assert status == 400 or body["errors"][0]["problem"]
    assert rig.get("/vessels")["items"] == []


def test_the_field_is_named_by_a_json_pointer_with_a_remedy(rig: Rig) -> None:
    answer = send(rig, "POST", "/vessels", b'{"name": "a", "volume_l": -1, "colour": 1}')

    errors = problem(answer)["errors"]
    assert [e["field"] for e in errors] == ["/volume_l", "/colour"]
    assert all(e["remedy"] for e in errors)


def test_other_types_of_body_are_refused(rig: Rig) -> None:
    answer = send(rig, "POST", "/vessels", b"name=Bucket", "application/x-www-form-urlencoded")

    assert answer.status_code == 415
    problem(answer)


def test_a_huge_body_is_refused_before_it_is_read(rig: Rig) -> None:
    answer = send(rig, "POST", "/vessels", b'{"name": "' + b"a" * 10_000_000 + b'"}')

    assert answer.status_code == 413
    problem(answer)


@pytest.mark.parametrize(
    ("at", "why"),
    [
        ("2026-11-25T08:00:00", "naive"),
        (1764057600, "number"),
        ("yesterday", "word"),
        ("2026-13-45T08:00:00Z", "no such day"),
        ("9999-12-31T23:59:59-23:00", "beyond the calendar"),
        ("2026-11-26T08:00:00Z", "future"),
    ],
)
def test_a_time_without_offset_or_sense_is_refused(rig: Rig, at: object, why: str) -> None:
    rig.post("/vessels", {"name": "Bucket"})
    body = {"name": "b", "vessel_id": "bucket", "plan": PLAN, "started_at": at}

    answer = send(rig, "POST", "/batches", json.dumps(body).encode())

    assert answer.status_code == 422
    assert problem(answer)["errors"][0]["field"] == "/started_at"
    assert rig.get("/batches")["items"] == []


def test_a_malformed_plan_names_stage_and_field(rig: Rig) -> None:
    plan = json.loads(json.dumps(PLAN))
    plan["stages"][0]["low_c"] = 25

    stored = send(rig, "POST", "/plans", json.dumps(plan).encode())
    rig.post("/vessels", {"name": "Bucket"})
    started = send(
        rig, "POST", "/batches", json.dumps({"name": "b", "vessel_id": "bucket", "plan": plan}).encode()
    )

    assert stored.status_code == started.status_code == 422
    assert problem(stored)["errors"][0]["field"].startswith("/stages/0/")
    assert problem(started)["errors"][0]["field"].startswith("/plan/stages/0/")


def test_exactly_one_of_plan_and_plan_id_is_wanted(rig: Rig) -> None:
    rig.post("/vessels", {"name": "Bucket"})

    for body in ({}, {"plan": PLAN, "plan_id": "x"}):
        rig.post("/batches", {"name": "b", "vessel_id": "bucket", **body}, expect=422)


@pytest.mark.parametrize(
    "path",
    [
        "/vessels/none",
        "/probes/none",
        "/plans/none",
        "/batches/none",
        "/alarms/a-99",
        "/alarms/x",
        "/channels/none",
    ],
)
def test_what_is_not_there_is_said_to_be_missing(rig: Rig, path: str) -> None:
    answer = rig.client.get(f"/api/v1{path}")

    assert answer.status_code == 404
    problem(answer)


def test_an_unknown_path_and_method_are_problems_too(rig: Rig) -> None:
    assert problem(rig.client.get("/api/v1/beer"))["status"] == 404
    assert problem(rig.client.delete("/api/v1/vessels"))["status"] == 405


def test_a_second_batch_in_a_vessel_is_a_conflict(rig: Rig) -> None:
    with_batch(rig)

    body = rig.post("/batches", {"name": "Other", "vessel_id": "bucket", "plan": PLAN}, expect=409)

    assert "Stair brown" in body["detail"]


def test_a_second_liquid_probe_is_a_conflict(rig: Rig) -> None:
    with_batch(rig)
    other = rig.post("/probes", {"label": "Second"})["id"]

    body = rig.patch(f"/probes/{other}", {"vessel_id": "bucket", "role": "liquid"}, expect=409)

    assert PROBE in body["detail"]


def test_half_a_place_is_refused(rig: Rig) -> None:
    rig.rounds(1)
    rig.post("/vessels", {"name": "Bucket"})

    rig.patch(f"/probes/{PROBE}", {"vessel_id": "bucket"}, expect=422)


def test_a_stale_etag_is_refused(rig: Rig) -> None:
    batch = with_batch(rig)
    seen = rig.client.get(f"/api/v1/batches/{batch}").headers["etag"]
    rig.patch(f"/batches/{batch}", {"og": 1.047})

    answer = rig.client.patch(f"/api/v1/batches/{batch}", json={"og": 1.048}, headers={"If-Match": seen})

    assert answer.status_code == 412
    assert rig.get(f"/batches/{batch}")["og"] == 1.047


@pytest.mark.parametrize(
    "headers",
    [
        {"host": "brew.example"},
        {"x-forwarded-for": "192.0.2.7"},
        {"forwarded": "for=192.0.2.7"},
        {"origin": "http://brew.example"},
        {"origin": "http://127.0.0.1:8331"},
        {"origin": "null"},
        {"authorization": "Bearer wrong"},
    ],
)
def test_without_an_account_only_this_machine_is_served(rig: Rig, headers: dict[str, str]) -> None:
    for path in ("/api/v1/vessels", "/readyz"):
        answer = rig.client.get(path, headers=headers)
        assert answer.status_code == 401
        problem(answer)


def test_our_own_origin_is_served(rig: Rig) -> None:
    answer = rig.client.get("/api/v1/vessels", headers={"origin": "http://127.0.0.1:8330"})

    assert answer.status_code == 200


def test_a_repeat_with_an_idempotency_key_is_answered_as_the_first(rig: Rig) -> None:
    key = {"Idempotency-Key": "phone-1"}
    first = rig.client.post("/api/v1/vessels", json={"name": "Bucket"}, headers=key)

    again = rig.client.post("/api/v1/vessels", json={"name": "Bucket"}, headers=key)
    other = rig.client.post("/api/v1/vessels", json={"name": "Barrel"}, headers=key)

    assert (again.status_code, again.json(), again.headers["location"]) == (
        201,
        first.json(),
        "/api/v1/vessels/bucket",
    )
    assert other.status_code == 409
    assert len(rig.get("/vessels")["items"]) == 1


@pytest.mark.parametrize("limit", ["0", "1001", "x", "-1"])
def test_a_bad_limit_is_refused(rig: Rig, limit: str) -> None:
    answer = rig.client.get("/api/v1/vessels", params={"limit": limit})

    assert answer.status_code == 422
    problem(answer)


def test_a_cursor_that_was_not_given_out_is_refused(rig: Rig) -> None:
    for path in ("/vessels", "/alarms"):
        assert rig.client.get(f"/api/v1{path}", params={"cursor": "%%%"}).status_code == 422


def test_shelving_for_ever_is_refused(rig: Rig) -> None:
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 22.6
    rig.until(700)
    alarm = rig.standing()["above-band"]["id"]

    rig.post(f"/alarms/{alarm}/shelve", {"for_s": 1e12, "reason": "for ever"}, expect=422)
    rig.post(f"/alarms/{alarm}/shelve", {"for_s": 600}, expect=422)

    assert rig.standing()["above-band"]["shelved_until"] is None


@pytest.mark.parametrize(
    "change",
    [
        {"url": "htp://127.0.0.1/hook"},
        {"url": "no address"},
        {"url": 7},
        {"colour": "red"},
        {"kind": "pigeon"},
        {"least_priority": "urgent"},
        {"quiet_hours": {"monday": {"from": "25:00", "to": "07:00"}}},
        {"quiet_hours": {"someday": {"from": "22:00", "to": "07:00"}}},
    ],
)
def test_a_channel_with_a_mistake_is_refused(rig: Rig, change: dict[str, Any]) -> None:
    body = rig.post("/channels", {**GOOD_CHANNEL, **change}, expect=422)

    assert body["errors"][0]["field"].startswith("/" + next(iter(change)))
    assert rig.get("/channels")["items"] == []


def test_a_service_that_the_apprise_library_does_not_know_is_refused_before_it_is_kept(rig: Rig) -> None:
    pytest.importorskip("apprise")

    body = rig.post("/channels", {"kind": "apprise", "name": "Hall", "url": "jsno://127.0.0.1/"}, expect=422)

    assert body["errors"][0]["field"] == "/url"
    assert body["errors"][0]["remedy"] == "Did you mean json?"
    assert rig.get("/channels")["items"] == []


def test_a_channel_is_not_changed_to_a_service_that_the_apprise_library_does_not_know(rig: Rig) -> None:
    pytest.importorskip("apprise")
    rig.post("/channels", {"kind": "apprise", "name": "Hall", "url": "json://127.0.0.1/"})

    body = rig.patch("/channels/hall", {"url": "jsno://127.0.0.1/"}, expect=422)

    assert body["errors"][0]["field"] == "/url"
    assert rig.get("/channels/hall")["url"] == "json://***"


@pytest.mark.parametrize("number", [2**63, 2**70, -(2**63) - 1])
@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("DELETE", f"/probes/{PROBE}/calibrations/{{}}"),
        ("PATCH", "/batches/stair-brown-2026-11-25/stages/{}"),
        ("DELETE", "/batches/stair-brown-2026-11-25/notes/{}"),
        ("GET", "/alarms/a-{}"),
        ("POST", "/alarms/a-{}/acknowledge"),
    ],
)
def test_a_number_that_no_column_holds_is_refused(rig: Rig, method: str, path: str, number: int) -> None:
    with_batch(rig)

    answer = send(rig, method, path.format(number), b"{}")

    assert answer.status_code in (404, 422)
    problem(answer)
