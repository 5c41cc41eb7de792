"""After a power cut: how long nobody watched, and what was measured at both ends of the gap."""

from pathlib import Path

from tests.rig import PROBE, rig_in, with_batch


def test_after_a_gap_the_measured_ends_are_said(tmp_path: Path) -> None:
    with rig_in(tmp_path) as first:
        with_batch(first)
        first.until(300)
        first.watch.stop()
        clock = first.clock
    clock.forward(3 * 3600)
    with rig_in(tmp_path, 20.5, clock) as second:
        second.rounds(2)

        reason = second.standing()["was-down"]["reason"]
        assert reason == "nobody watched for 3 h; Bucket measured 20.0 C before and 20.5 C after"


def test_what_is_not_measured_after_the_gap_is_not_said(tmp_path: Path) -> None:
    with rig_in(tmp_path) as first:
        with_batch(first)
        first.until(300)
        first.watch.stop()
        clock = first.clock
    clock.forward(3 * 3600)
    with rig_in(tmp_path, None, clock) as second:
        second.source.values[PROBE] = None
        second.rounds(2)

        assert second.standing()["was-down"]["reason"] == "nobody watched for 3 h"
