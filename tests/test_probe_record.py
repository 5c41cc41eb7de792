"""What `gylewatch probes` says of the service's own record."""

from datetime import timedelta
from pathlib import Path

from sensors.sample import FaultKind
from service.probe_record import Noted, noted, read_noted, said, since
from service.probe_report import report
from tests.rig import PROBE, START, HandSource, Rig, with_batch


def test_it_knows_place_last_value_and_faults_of_each_probe(rig: Rig) -> None:
    with_batch(rig)
    point = {"method": "reference", "reading_c": 20, "reference_c": 20.5, "from": START.isoformat()}
    rig.post(f"/probes/{PROBE}/calibrations", point)
    rig.rounds(1)
    rig.source.faults[PROBE] = FaultKind.CRC
    rig.until(70)

    with rig.record.reading() as connection:
        one = noted(connection, rig.clock.now())[0]

    assert (one.id, one.place, one.last_c) == (PROBE, "liquid of bucket", 20.5)
    assert one.faults.keys() == {FaultKind.CRC}
    assert said(one)[0] == f"{PROBE}  liquid of bucket: 20.50 C at 2026-11-25 08:00 UTC"
    assert said(one)[1].startswith("    crc, ")
    assert "checksum" in said(one)[1]


def test_faults_count_from_the_clock_hour_before(rig: Rig) -> None:
    with_batch(rig)
    rig.source.faults[PROBE] = FaultKind.CRC
    rig.until(70)

    def faults(later: timedelta) -> bool:
        with rig.record.reading() as connection:
            return bool(noted(connection, START + later)[0].faults)

    assert since(START + timedelta(minutes=50)) == START - timedelta(hours=1)
    assert (faults(timedelta(minutes=119)), faults(timedelta(minutes=120))) == (True, False)


def test_a_folder_without_a_record_says_nothing_and_a_broken_one_says_so(tmp_path: Path) -> None:
    assert read_noted(tmp_path, None, START) == ([], "")

    (tmp_path / "record.db").write_bytes(b"not a database" * 100)

    none, trouble = read_noted(tmp_path, None, START)
    assert none == []
    assert trouble.startswith("The record cannot be read: ")


def test_a_probe_over_mqtt_without_a_broker_is_said() -> None:
    lines: list[str] = []
    cellar = Noted("cellar", "Cellar", "mqtt", "", None, None, {})

    for broker in (False, True):
        report(HandSource({PROBE: 20.0}), False, lines.append, [cellar], broker=broker)

    assert [line for line in lines if "GYLEWATCH_MQTT_URL" in line] == [
        "Note: Cellar comes over MQTT, but no broker is set: set GYLEWATCH_MQTT_URL."
    ]
    assert lines.count("cellar  Cellar: nothing measured yet") == 2
