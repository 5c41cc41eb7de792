"""A clock that steps, starts in the past, or was ahead: nothing is lost, nothing waits."""

from datetime import timedelta
from pathlib import Path

from service.record.minutes import minutes_of
from service.watch.fold import minute_of
from tests.rig import PROBE, START, HandClock, Rig, rig_in, with_batch


def counts(rig: Rig) -> dict[int, int]:
    """Samples by stored minute since the start."""
    with rig.record.reading() as connection:
        return {row.minute - minute_of(START): row.count for row in minutes_of(connection, 1, 0, 2**31)}


def test_a_step_back_by_seconds_goes_on_in_the_same_minute_and_every_commit_succeeds(rig: Rig) -> None:
    with_batch(rig)
    rig.rounds(8)
    rig.clock.at -= timedelta(seconds=30)

    rig.until(600)
    rig.source.values[PROBE] = 30.0
    rig.until(900)

    assert rig.record.writer.health().failures == 0
    assert "above-band" in rig.standing()
    assert sum(counts(rig).values()) >= 8 + 60


def test_the_beer_is_judged_while_the_clock_shows_a_time_before_the_batch(tmp_path: Path) -> None:
    with rig_in(tmp_path) as first:
        with_batch(first)
        first.until(300)
        first.watch.stop()
        clock = first.clock
    clock.at -= timedelta(days=2)
    with rig_in(tmp_path, 30.0, clock) as second:
        second.until(900)

        assert {"above-band", "clock-untrusted"} <= set(second.standing())


def test_an_outage_is_told_once_the_clock_that_was_restored_too_early_is_set_right(tmp_path: Path) -> None:
    with rig_in(tmp_path) as first:
        with_batch(first)
        first.until(300)
        first.watch.stop()
        clock = first.clock
    right = clock.at + timedelta(hours=8)
    clock.at -= timedelta(minutes=20)
    clock.mono += 8 * 3600
    with rig_in(tmp_path, 20.0, clock) as second:
        second.rounds(3)
        early = set(second.standing())
        clock.at = right + timedelta(seconds=30)
        second.rounds(3)

        assert "was-down" not in early
        assert "8 h" in second.standing()["was-down"]["reason"]


def test_minutes_counted_from_the_boot_are_dated_after_a_restart_within_it(tmp_path: Path) -> None:
    clock = HandClock()
    clock.why_not = "the clock has not been set since this machine started"
    with rig_in(tmp_path, 20.0, clock) as first:
        first.until(300)
        first.watch.stop()
    clock.why_not = ""
    with rig_in(tmp_path, 20.0, clock) as second:
        second.until(180)

        assert len(counts(second)) >= 7


def test_a_clock_that_was_ahead_holds_the_record_up_for_ten_minutes_only(rig: Rig) -> None:
    rig.until(120)
    rig.clock.at += timedelta(days=30)
    rig.until(120)
    rig.clock.at -= timedelta(days=30)

    rig.until(1500)

    recent = [minute for minute in counts(rig) if minute < 60]
    assert max(recent) >= 27


def test_samples_that_arrive_wait_until_they_can_be_dated(rig: Rig) -> None:
    rig.rounds(1)
    rig.post("/probes", {"label": "Air"})
    rig.clock.why_not = "the clock has not been set since this machine started"
    sample = {"samples": [{"at": START.isoformat(), "temp_c": 19.0}]}

    answer = rig.client.post("/api/v1/probes/air/samples", json=sample)
    rig.clock.why_not = ""
    later = rig.post("/probes/air/samples", sample)

    assert (answer.status_code, answer.headers["retry-after"]) == (503, "5")
    assert later["new"] == 1


def test_seeing_an_alarm_before_the_first_round_hides_no_outage(tmp_path: Path) -> None:
    with rig_in(tmp_path) as first:
        with_batch(first)
        first.rounds(2)
        first.source.values[PROBE] = 22.6
        first.until(700)
        alarm = first.standing()["above-band"]["id"]
        first.watch.stop()
        clock = first.clock
    clock.forward(3 * 3600)
    with rig_in(tmp_path, 22.6, clock) as second:
        second.post(f"/alarms/{alarm}/acknowledge")
        second.rounds(2)

        assert "was-down" in second.standing()
