from datetime import timedelta
from pathlib import Path

from sensors.sample import FaultKind
from service.record.minutes import minutes_of
from service.record.outbox import messages
from service.watch.fold import minute_of
from tests.rig import PROBE, START, HandClock, HandSource, Rig, rig_in, with_batch


def stored(rig: Rig) -> list[tuple[int, int, int]]:
    """(minute since the start, mean, count) of the probe's stored minutes."""
    with rig.record.reading() as connection:
        rows = minutes_of(connection, 1, 0, 2**31)
    return [(row.minute - minute_of(START), row.mean_mc, row.count) for row in rows]


def test_a_probe_on_the_bus_appears_by_itself_and_waits_for_a_vessel(rig: Rig) -> None:
    rig.watch.round()

    probe = rig.get(f"/probes/{PROBE}")

    assert (probe["vessel_id"], probe["role"], probe["source"]) == (None, None, "onewire")
    assert probe["last"]["temp_c"] == 20.0
    assert probe["health"]["state"] == "waiting"


def test_the_first_sample_is_committed_at_once(rig: Rig) -> None:
    rig.rounds(1)

    assert stored(rig) == [(0, 20000, 1)]


def test_minutes_are_committed_once_a_minute(rig: Rig) -> None:
    rig.rounds(6)
    assert stored(rig) == [(0, 20000, 1)]

    rig.rounds(1)

    assert stored(rig) == [(0, 20000, 6), (1, 20000, 1)]


def test_a_restart_within_a_minute_goes_on_with_it(tmp_path: Path) -> None:
    with rig_in(tmp_path) as first:
        first.rounds(2)
        first.watch.stop()
        clock = first.clock
    with rig_in(tmp_path, 21.0, clock) as second:
        second.rounds(2)
        second.watch.stop()

        assert stored(second) == [(0, 20500, 4)]


def test_a_missing_minute_is_a_missing_row(rig: Rig) -> None:
    rig.rounds(6)
    rig.source.values[PROBE] = None
    rig.rounds(12)
    rig.source.values[PROBE] = 20.0
    rig.rounds(12)

    assert [minute for minute, _, _ in stored(rig)] == [0, 3, 4]


def test_a_fault_is_counted_and_changes_no_temperature(rig: Rig) -> None:
    rig.rounds(3)
    rig.source.faults[PROBE] = FaultKind.CRC

    rig.rounds(2)

    probe = rig.get(f"/probes/{PROBE}")
    assert probe["health"]["faults_1h"] == {"crc": 2}
    assert probe["last"]["temp_c"] == 20.0


def test_a_stray_is_raised_after_its_delay_and_spoken_about_once(rig: Rig) -> None:
    with_batch(rig)
    rig.post("/channels", {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook"})
    rig.rounds(3)
    rig.source.values[PROBE] = 22.6

    rig.until(590)
    before = rig.standing()
    rig.until(120)

    assert "above-band" not in before
    alarm = rig.standing()["above-band"]
    assert alarm["priority"] == "high"
    assert "1.1 C over the band" in alarm["reason"]
    with rig.record.reading() as connection:
        sent = [m for m in messages(connection) if "above-band" in str(m["alarms"])]
    assert len(sent) == 1
    assert rig.told >= 1


def test_the_band_alarms_wait_until_the_band_is_reached_or_its_time_is_over(tmp_path: Path) -> None:
    with rig_in(tmp_path, 25.0) as rig:
        with_batch(rig)

        rig.until(6 * 3600 - 60)
        early = rig.standing()
        rig.until(800)

        assert early == {}
        assert {"not-reached", "above-band"} <= set(rig.standing())


def test_silence_raises_its_own_alarm_and_clears_no_other(rig: Rig) -> None:
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 22.6
    rig.until(700)
    rig.source.values[PROBE] = None

    rig.until(1200)

    standing = rig.standing()
    assert standing["no-reading"]["state"] == "unacknowledged"
    assert standing["above-band"]["state"] == "unacknowledged"
    vessel = rig.get("/vessels/bucket")
    assert vessel["now"]["temp_c"] is None
    assert vessel["now"]["standing"] == 2


def test_an_alarm_outlives_a_restart_with_its_delays(tmp_path: Path) -> None:
    with rig_in(tmp_path) as first:
        with_batch(first)
        first.rounds(2)
        first.source.values[PROBE] = 22.6
        first.until(500)
        first.watch.stop()
        clock = first.clock
    with rig_in(tmp_path, 22.6, clock) as second:
        second.until(80)
        early = second.standing()
        second.until(60)

        assert "above-band" not in early
        assert "above-band" in second.standing()


def test_a_long_absence_of_the_watch_is_told_until_somebody_has_seen_it(tmp_path: Path) -> None:
    with rig_in(tmp_path) as first:
        with_batch(first)
        first.rounds(3)
        first.watch.stop()
        clock = first.clock
    clock.forward(2 * 3600)
    with rig_in(tmp_path, 20.0, clock) as second:
        second.rounds(2)
        alarm = second.standing()["was-down"]
        second.post(f"/alarms/{alarm['id']}/acknowledge", {"note": "fuse"})
        second.rounds(2)

        assert "2 h" in alarm["reason"]
        assert "was-down" not in second.standing()


def test_ending_the_batch_ends_its_alarms(rig: Rig) -> None:
    batch = with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 22.6
    rig.until(700)
    rig.post(f"/alarms/{rig.standing()['above-band']['id']}/acknowledge")

    rig.post(f"/batches/{batch}/advance", {"to": "end"})
    rig.rounds(2)

    assert "above-band" not in rig.standing()


def test_a_stage_that_ends_by_time_is_left_by_itself_and_kept(rig: Rig) -> None:
    plan = {
        "name": "Short",
        "stages": [
            {"key": "stand", "kind": "stand", "lasts_s": 300, "ends": "time"},
            {"key": "primary", "kind": "primary", "target_c": 20, "ends": "brewer"},
        ],
    }
    batch = with_batch(rig, plan)

    rig.until(400)

    stages = rig.get(f"/batches/{batch}/stages")["items"]
    assert [(s["key"], s["how"]) for s in stages] == [("primary", "time"), ("stand", "start")]
    assert rig.get(f"/batches/{batch}")["pitched_at"] is not None


def test_a_kettle_stage_is_swept_every_two_seconds(rig: Rig) -> None:
    plan = {
        "name": "Mash",
        "stages": [{"key": "rest", "kind": "mash", "target_c": 66, "lasts_s": 3600, "ends": "time"}],
    }
    assert rig.watch._interval_s() == 10.0

    with_batch(rig, plan)

    assert rig.watch._interval_s() == 2.0


def test_minutes_before_the_clock_can_be_believed_are_dated_once_it_is(tmp_path: Path) -> None:
    clock = HandClock()
    clock.why_not = "the clock has not been set since this machine started"
    with rig_in(tmp_path, 20.0, clock) as rig:
        rig.rounds(12)
        nothing_dated = stored(rig)
        rig.clock.why_not = ""
        rig.rounds(12)

        assert nothing_dated == []
        assert [minute for minute, _, _ in stored(rig)] == [-1, 0, 1, 2, 3]


def test_a_clock_set_back_loses_no_minute_and_clears_no_alarm(rig: Rig) -> None:
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 22.6
    rig.until(700)
    rig.clock.at = START

    rig.until(600)

    assert "above-band" in rig.standing()
    assert "clock-untrusted" in rig.standing() or rig.watch.health()["clock"] != "believed"


def test_a_clock_set_ahead_by_hours_raises_nothing_by_itself(rig: Rig) -> None:
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 22.6
    rig.until(60)
    rig.clock.at += timedelta(hours=5)

    rig.until(400)
    early = rig.standing()
    rig.until(200)

    assert "above-band" not in early
    assert "above-band" in rig.standing()


def test_a_round_that_fails_is_counted_and_the_next_one_comes(tmp_path: Path) -> None:
    class Broken(HandSource):
        def sweep(self, at):  # type: ignore[no-untyped-def]
            raise RuntimeError("this source is broken")

    rig = Rig(tmp_path, HandClock(), Broken({PROBE: 20.0}))
    rig.watch.start()
    try:
        from tests.running import eventually

        eventually(lambda: rig.watch.failed_rounds >= 1, 5, "a failed round")
        rig.watch._wake.set()
        eventually(lambda: rig.watch.failed_rounds >= 2, 5, "another round")
        assert "this source is broken" in rig.watch._last_failure
    finally:
        rig.watch.stop()
        rig.record.close()
