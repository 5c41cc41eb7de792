"""Which probe told of a batch when, and which calibration a minute has."""

from dataclasses import replace
from datetime import timedelta

from service.actions.stretches import calibrated_from, line_of, stretches
from service.record.facts import Assignment, CalibrationLine, PlacedFor, Probe
from service.watch.fold import minute_of
from tests.rig import PROBE, START, Rig, with_batch

AIR = Probe("air", 1, "Air", "pushed", None, None, 60.0, START)
M0 = minute_of(START)


def at(minutes: float):  # type: ignore[no-untyped-def]
    return START + timedelta(minutes=minutes)


def test_a_probe_moved_within_a_minute_belongs_in_it_to_where_it_came() -> None:
    hung = [
        Assignment(1, "air", "bucket", "surroundings", at(0), at(5.5)),
        Assignment(2, "air", "crate", "surroundings", at(5.5), None),
    ]
    places = [PlacedFor(1, "bucket", at(0), at(5.5)), PlacedFor(2, "crate", at(5.5), None)]

    found = stretches({"air": AIR}, hung, places, M0, M0 + 10)

    assert [(s.vessel_id, s.from_minute - M0, s.to_minute - M0) for s in found] == [
        ("bucket", 0, 5),
        ("crate", 5, 10),
    ]


def test_a_probe_counts_only_while_it_hung_where_the_batch_was() -> None:
    hung = [Assignment(1, "air", "bucket", "liquid", at(3), at(6))]

    found = stretches({"air": AIR}, hung, [PlacedFor(1, "bucket", at(0), at(4.5))], M0, M0 + 10)

    assert [(s.from_minute - M0, s.to_minute - M0) for s in found] == [(3, 5)]
    assert stretches({}, hung, [PlacedFor(1, "bucket", at(0), None)], M0, M0 + 10) == []


def test_a_calibration_holds_from_the_minute_whose_middle_it_has_reached() -> None:
    early = CalibrationLine("air", at(2) + timedelta(seconds=29), 1.0, 0.5)
    late = replace(early, from_at=at(2) + timedelta(seconds=31))

    assert (calibrated_from(early) - M0, calibrated_from(late) - M0) == (2, 3)
    for line in (early, late):
        assert line_of((line,), calibrated_from(line)) == line
        assert line_of((line,), calibrated_from(line) - 1) is None


def test_a_curve_shows_the_calibration_that_began_within_a_minute(rig: Rig) -> None:
    batch = with_batch(rig)
    rig.until(130)
    rig.post(f"/probes/{PROBE}/calibrations", {"method": "reference", "reference_c": 21, "reading_c": 20})
    rig.until(300)

    curve = rig.get(f"/batches/{batch}/series")["probes"][0]["mean_c"]

    assert (curve[0], curve[-2]) == (20.0, 21.0)


def test_the_curve_of_a_probe_that_was_taken_away_stays(rig: Rig) -> None:
    batch = with_batch(rig)
    rig.until(300)
    del rig.source.values[PROBE]
    rig.rounds(2)
    gone = rig.client.delete(f"/api/v1/probes/{PROBE}")

    curves = rig.get(f"/batches/{batch}/series")["probes"]

    assert gone.status_code == 204
    assert [curve["probe_id"] for curve in curves] == [PROBE]
