"""Calibration, a probe swapped, a heater's record, through the API."""

from datetime import timedelta
from typing import Any

import pytest

from sensors.sample import ProbeId
from tests.rig import PROBE, START, Rig, with_batch

OTHER = ProbeId("28-00000a1b2c3e")


def test_ice_water_gives_an_offset_that_holds_from_then_on(rig: Rig) -> None:
    batch = with_batch(rig)
    rig.until(120)
    before = rig.get("/vessels/bucket")["now"]["temp_c"]

    line = rig.post(f"/probes/{PROBE}/calibrations", {"method": "ice", "reading_c": 0.31})
    rig.until(180)

    assert (line["slope"], line["offset_c"]) == (1.0, pytest.approx(-0.31))
    assert line["uncertainty_c"] > 0
    assert before == 20.0
    assert rig.get("/vessels/bucket")["now"]["temp_c"] == pytest.approx(19.69)
    series = rig.get(f"/batches/{batch}/series", points=500)["probes"][0]
    shown = [
        point for point in zip(series["mean_c"], series["min_c"], series["max_c"], strict=True) if point[0]
    ]
    assert shown[0] == (20.0, 20.0, 20.0)
    assert shown[-1] == (pytest.approx(19.69),) * 3


def test_a_second_point_of_the_day_makes_it_a_line_and_the_history_stays(rig: Rig) -> None:
    rig.rounds(1)
    rig.post(f"/probes/{PROBE}/calibrations", {"method": "ice", "reading_c": 0.25})

    line = rig.post(
        f"/probes/{PROBE}/calibrations", {"method": "reference", "reading_c": 50.75, "reference_c": 50.0}
    )

    assert line["slope"] == pytest.approx(50.0 / 50.5)
    assert line["offset_c"] == pytest.approx(-0.25 * 50.0 / 50.5)
    assert [len(one["points"]) for one in rig.get(f"/probes/{PROBE}/calibrations")["items"]] == [2, 1]


def test_boiling_water_takes_its_temperature_from_the_altitude(rig: Rig) -> None:
    rig.rounds(1)

    line = rig.post(f"/probes/{PROBE}/calibrations", {"method": "boil", "reading_c": 98.6, "altitude_m": 500})

    # 954.6 hPa in the standard atmosphere (ISO 2533); water boils at 98.3 C there (IAPWS-95)
    assert line["points"][0]["reference_c"] == pytest.approx(98.3, abs=0.1)


def test_points_that_a_sound_part_would_not_show_are_warned_about(rig: Rig) -> None:
    rig.rounds(1)

    line = rig.post(f"/probes/{PROBE}/calibrations", {"method": "ice", "reading_c": 1.4})

    assert "+1.40 C" in line["warnings"][0]


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"method": "ice", "reading_c": 6.0}, "/reading_c"),
        ({"method": "boil", "reading_c": 99.0}, ""),
        ({"method": "boil", "reading_c": 99.0, "altitude_m": 10, "pressure_hpa": 1000}, ""),
        ({"method": "reference", "reading_c": 20.0}, "/reference_c"),
        ({"method": "ice", "reading_c": 0.1, "reference_c": 3.0}, "/reference_c"),
        ({"method": "ice", "reading_c": 0.1, "altitude_m": 3}, "/altitude_m"),
        ({"method": "guess", "reading_c": 0.1}, "/method"),
        ({"method": "ice", "reading_c": "0.1"}, "/reading_c"),
    ],
)
def test_a_calibration_with_a_mistake_is_refused(rig: Rig, body: dict[str, Any], field: str) -> None:
    rig.rounds(1)

    answer = rig.post(f"/probes/{PROBE}/calibrations", body, expect=422)

    assert answer["errors"][0]["field"] == field
    assert rig.get(f"/probes/{PROBE}/calibrations")["items"] == []


def test_a_calibration_is_taken_back(rig: Rig) -> None:
    rig.rounds(1)
    n = rig.post(f"/probes/{PROBE}/calibrations", {"method": "ice", "reading_c": 0.5})["n"]

    assert rig.client.delete(f"/api/v1/probes/{PROBE}/calibrations/{n}").status_code == 204
    rig.rounds(1)

    assert rig.get(f"/probes/{PROBE}")["last"]["temp_c"] == 20.0


def test_a_swapped_probe_goes_on_with_the_series(rig: Rig) -> None:
    batch = with_batch(rig)
    rig.until(300)
    rig.source.values[OTHER] = 20.5
    rig.source.values[PROBE] = None
    rig.rounds(2)

    answer = rig.post(f"/probes/{PROBE}/replace", {"with": OTHER})
    rig.until(300)

    assert (answer["id"], answer["vessel_id"], answer["role"]) == (OTHER, "bucket", "liquid")
    assert rig.get("/vessels/bucket")["now"]["temp_c"] == 20.5
    series = rig.get(f"/batches/{batch}/series", points=500)["probes"]
    assert {one["probe_id"] for one in series} == {PROBE, OTHER}
    assert "no-reading" not in rig.standing()


def test_a_probe_in_use_takes_over_from_nobody(rig: Rig) -> None:
    with_batch(rig)
    air = rig.post("/probes", {"label": "Air", "vessel_id": "bucket", "role": "surroundings"})["id"]

    assert "already" in rig.post(f"/probes/{PROBE}/replace", {"with": air}, expect=409)["detail"]
    rig.post(f"/probes/{PROBE}/replace", {"with": PROBE}, expect=422)
    rig.post(f"/probes/{PROBE}/replace", {"with": "none"}, expect=404)


def test_a_heaters_record_is_kept_and_repeats_change_nothing(rig: Rig) -> None:
    rig.post("/vessels", {"name": "Bucket"})
    at = (START - timedelta(hours=1)).isoformat()
    changes = [{"at": at, "on": True}, {"at": START.isoformat(), "on": False}]

    first = rig.post("/vessels/bucket/heater", {"changes": changes})
    again = rig.post("/vessels/bucket/heater", {"changes": changes})
    rig.post("/vessels/bucket/heater", {"changes": [{"at": at, "on": "yes"}]}, expect=422)

    assert first == again == {"known": 2}


def test_only_a_part_that_has_a_choice_takes_a_resolution(rig: Rig) -> None:
    rig.rounds(1)

    rig.patch(f"/probes/{PROBE}", {"resolution_bits": 10}, expect=422)
    rig.patch(f"/probes/{PROBE}", {"resolution_bits": 13}, expect=422)

    assert rig.get(f"/probes/{PROBE}")["resolution_bits"] is None
