from typing import Any

import pytest
from sqlalchemy import select

from sensors.sample import FaultKind
from service.alarms.model import Subject
from service.record.alarms import subject_key
from service.record.outbox import messages
from service.record.tables import alarm_transition
from tests.rig import PROBE, Rig, rig_in, with_batch

WORK = {"for_s": 3600, "reason": "Racking"}
BOIL: dict[str, Any] = {
    "name": "Boil",
    "stages": [{"key": "boil", "kind": "boil", "lasts_s": 3600, "ends": "time"}],
}


def events(rig: Rig, key: str, probe: str | None = None) -> list[str]:
    """What happened to an alarm of the bucket, oldest first."""
    subject = subject_key(Subject(key, "bucket", probe))
    with rig.record.reading() as connection:
        rows = connection.execute(
            select(alarm_transition.c.event)
            .where(alarm_transition.c.subject == subject)
            .order_by(alarm_transition.c.id)
        )
        return [row.event for row in rows]


def test_nothing_that_hands_do_is_raised_while_somebody_works_there(rig: Rig) -> None:
    with_batch(rig)
    rig.rounds(2)
    rig.post("/vessels/bucket/working", WORK)
    rig.source.values[PROBE] = 25.0

    rig.until(3500)

    assert rig.standing() == {}
    assert events(rig, "above-band") == ["suppressed"]


def test_what_is_still_wrong_when_the_work_is_over_is_raised_after_its_delay(rig: Rig) -> None:
    with_batch(rig)
    rig.rounds(2)
    rig.post("/vessels/bucket/working", {**WORK, "for_s": 600})
    rig.source.values[PROBE] = 22.6

    rig.until(1150)
    before = rig.standing()
    rig.until(120)

    assert before == {}
    assert "above-band" in rig.standing()
    assert events(rig, "above-band") == ["suppressed", "unsuppressed", "raised"]


def test_work_never_hides_what_stands_and_its_return_is_seen(rig: Rig) -> None:
    rig.post("/channels", {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook"})
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 22.6
    rig.until(700)

    rig.post("/vessels/bucket/working", WORK)
    rig.rounds(1)
    during = rig.standing()["above-band"]
    rig.source.values[PROBE] = 20.0
    rig.until(900)

    assert during["state"] == "unacknowledged"
    assert during["suppressed_by"] == "somebody works there: Racking"
    assert rig.standing()["above-band"]["state"] == "returned-unacknowledged"


def test_what_can_hurt_and_what_a_stage_asks_is_said_all_the_same(rig: Rig) -> None:
    plan = {
        "name": "Cold",
        "stages": [
            {
                "key": "cold",
                "kind": "crash",
                "target_c": 1,
                "lasts_s": 600,
                "ends": "brewer",
            }
        ],
    }
    with_batch(rig, plan)
    rig.post("/vessels/bucket/working", WORK)
    rig.source.values[PROBE] = 5.0
    rig.rounds(2)
    for temp_c in (4.0, 3.0, 2.0, 1.0, 0.0, -1.0):
        rig.source.values[PROBE] = temp_c
        rig.until(200)

    assert {"near-freezing", "stage-due"} <= set(rig.standing())


def test_work_ends_when_it_is_said_to_be_over(rig: Rig) -> None:
    with_batch(rig)
    begun = rig.post("/vessels/bucket/working", WORK)

    assert rig.get("/vessels/bucket/working") == begun
    assert rig.client.delete("/api/v1/vessels/bucket/working").status_code == 204
    assert rig.client.get("/api/v1/vessels/bucket/working").status_code == 404
    assert rig.client.delete("/api/v1/vessels/bucket/working").status_code == 404


def test_work_outlives_a_restart_and_ends_when_the_clock_is_set_back_before_it(tmp_path: Any) -> None:
    with rig_in(tmp_path) as first:
        with_batch(first)
        first.post("/vessels/bucket/working", WORK)
        clock = first.clock
    with rig_in(tmp_path, 20.0, clock) as second:
        assert second.get("/vessels/bucket/working")["reason"] == "Racking"
        clock.at = clock.at.replace(hour=3)
        assert second.client.get("/api/v1/vessels/bucket/working").status_code == 404


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"for_s": 86401, "reason": "x"}, "/for_s"),
        ({"for_s": 0, "reason": "x"}, "/for_s"),
        ({"for_s": 600}, "/reason"),
        ({"for_s": 600, "reason": "  "}, "/reason"),
        ({"reason": "for ever"}, "/for_s"),
    ],
)
def test_work_without_a_reason_or_an_end_is_refused(rig: Rig, body: dict[str, Any], field: str) -> None:
    with_batch(rig)

    assert rig.post("/vessels/bucket/working", body, expect=422)["errors"][0]["field"] == field
    assert rig.post("/vessels/nowhere/working", WORK, expect=404)


def test_a_silent_probe_is_one_alarm_and_not_two(rig: Rig) -> None:
    with_batch(rig)
    rig.rounds(2)
    rig.source.faults[PROBE] = FaultKind.CRC

    rig.until(3600)

    assert set(rig.standing()) == {"no-reading"}
    assert events(rig, "probe-fault", PROBE) == ["suppressed"]


def test_a_kettle_has_time_to_come_to_the_boil(rig: Rig) -> None:
    rig.post("/vessels", {"name": "Kettle", "kind": "kettle", "volume_l": 5})
    rig.watch.round()
    rig.patch(f"/probes/{PROBE}", {"vessel_id": "kettle", "role": "liquid"})
    rig.source.values[PROBE] = 70.0
    rig.rounds(3)
    rig.post("/batches", {"name": "Boil", "vessel_id": "kettle", "plan": BOIL})

    rig.until(1740)
    before = rig.standing()
    rig.until(240)

    assert "below-band" not in before
    assert "below-band" in rig.standing()


def test_what_is_out_of_service_raises_nothing_until_it_is_put_back(rig: Rig) -> None:
    with_batch(rig)
    out = rig.post("/out-of-service", {"key": "above-band", "vessel_id": "bucket", "reason": "Meant"})
    rig.rounds(2)
    rig.source.values[PROBE] = 22.6
    rig.until(1200)
    during = rig.standing()

    listed = rig.get("/out-of-service")["items"]
    rig.client.delete(f"/api/v1/out-of-service/{out['id']}")
    rig.until(700)

    assert during == {}
    assert listed == [out]
    assert out["id"] == "above-band.bucket"
    assert out["cause"] == "Out of service by the brewer: Meant"
    assert rig.get("/out-of-service")["items"] == []
    assert "above-band" in rig.standing()


def test_out_of_service_outlives_a_restart(tmp_path: Any) -> None:
    with rig_in(tmp_path) as first:
        with_batch(first)
        first.post("/out-of-service", {"key": "no-reading", "probe_id": PROBE, "reason": "Being mended"})
        clock = first.clock
    with rig_in(tmp_path, None, clock) as second:
        second.until(300)

        assert second.standing() == {}
        assert [o["probe_id"] for o in second.get("/out-of-service")["items"]] == [PROBE]


def test_a_standing_alarm_out_of_service_stays_listed_and_silent(rig: Rig) -> None:
    rig.post("/channels", {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook"})
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 22.6
    rig.until(700)

    rig.post("/out-of-service", {"key": "above-band", "vessel_id": "bucket", "reason": "Known"})
    rig.until(7200)

    assert rig.standing()["above-band"]["out_of_service"] is True
    with rig.record.reading() as connection:
        assert [m["reason"] for m in messages(connection)] == ["first"]


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"key": "too-green", "vessel_id": "bucket"}, "/key"),
        ({"key": "stage-due", "vessel_id": "bucket"}, "/key"),
        ({"key": "above-band"}, "/vessel_id"),
        ({"key": "above-band", "vessel_id": "nowhere"}, "/vessel_id"),
        ({"key": "above-band", "vessel_id": "bucket", "probe_id": PROBE}, "/probe_id"),
        ({"key": "no-reading", "probe_id": "28-nothing"}, "/probe_id"),
        ({"key": "channel-failing", "channel_id": "hall"}, "/channel_id"),
        ({"key": "disk-low", "vessel_id": "bucket"}, "/vessel_id"),
    ],
)
def test_what_cannot_be_out_of_service_is_refused(rig: Rig, body: dict[str, Any], field: str) -> None:
    with_batch(rig)

    answer = rig.post("/out-of-service", {**body, "reason": "x"}, expect=422)

    assert answer["errors"][0]["field"] == field
    assert answer["errors"][0]["remedy"]


def test_taking_out_twice_and_putting_back_twice_are_refused(
    rig: Rig,
) -> None:
    body = {"key": "disk-low", "reason": "Small card"}
    rig.post("/out-of-service", body)

    rig.post("/out-of-service", body, expect=409)

    assert rig.client.delete("/api/v1/out-of-service/disk-low").status_code == 204
    assert rig.client.delete("/api/v1/out-of-service/disk-low").status_code == 404
