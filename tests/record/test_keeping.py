import json
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from service.record.keeping import COPIES, SUSPECT, Keeper, newest_good_copy, open_or_set_aside
from tests.rig import PROBE, HandClock, HandSource, Rig, rig_in, with_batch

NOW = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)


def straying_record(folder: Path) -> None:
    """A record with vessel, probe, batch, channel and a standing alarm, and its copy."""
    with rig_in(folder) as rig:
        with_batch(rig)
        rig.post("/channels", {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook"})
        rig.rounds(2)
        rig.source.values[PROBE] = 22.6
        rig.until(700)
        Keeper(folder, rig.record).keep()
        rig.watch.stop()


def damage(folder: Path) -> bytes:
    """Overwrite the database's first pages; returns what it is then."""
    path = folder / "record.db"
    path.write_bytes(b"this is no database" + path.read_bytes()[19:4096] + b"x" * 4096)
    return path.read_bytes()


def test_a_damaged_record_is_set_aside_and_a_new_one_knows_the_configuration(tmp_path: Path) -> None:
    straying_record(tmp_path)
    broken = damage(tmp_path)

    record, aside = open_or_set_aside(tmp_path, None, time.monotonic, NOW)
    record.close()

    assert aside == "set-aside/20261125T090000Z"
    assert (tmp_path / aside / "record.db").read_bytes() == broken
    clock = HandClock(NOW)
    with rig_in(tmp_path, 22.6, clock) as rig:
        rig.rounds(2)
        assert [v["id"] for v in rig.get("/vessels")["items"]] == ["bucket"]
        assert rig.get("/vessels/bucket")["now"]["stage"] == "primary"
        assert [c["id"] for c in rig.get("/channels")["items"]] == ["hall"]
        assert rig.standing()["above-band"]["id"] == "a-1"


def test_the_watch_tells_that_a_record_was_set_aside(tmp_path: Path) -> None:
    from service.watch.loop import Watch

    with rig_in(tmp_path) as rig:
        told = rig.watch._settings.__class__(
            10.0, rig.desk.zone, rig.watch._settings.units, "http://127.0.0.1", tmp_path, "set-aside/x"
        )
        watch = Watch(rig.record, [HandSource({PROBE: 20.0})], rig.clock, told, rig.broker, lambda: None)
        watch.round()

        assert "set-aside/x" in rig.standing()["record-damaged"]["reason"]


def test_damage_found_while_running_is_set_aside_at_the_next_start(tmp_path: Path) -> None:
    straying_record(tmp_path)
    (tmp_path / SUSPECT).touch()

    record, aside = open_or_set_aside(tmp_path, None, time.monotonic, NOW)
    record.close()

    assert aside is not None
    assert not (tmp_path / SUSPECT).exists()
    assert (tmp_path / aside / "record.db").exists()


@pytest.mark.parametrize("spoil", ["{", "", '{"sha256": "00", "tables": "{}"}', "[]"])
def test_a_spoilt_copy_is_passed_over_for_the_one_before(tmp_path: Path, spoil: str) -> None:
    straying_record(tmp_path)
    good = (tmp_path / "kept" / COPIES[0]).read_text()
    (tmp_path / "kept" / COPIES[1]).write_text(good)
    (tmp_path / "kept" / COPIES[0]).write_text(spoil)

    found = newest_good_copy(tmp_path)

    assert found == json.loads(json.loads(good)["tables"])


def test_without_a_copy_the_new_record_is_empty_and_sampling_goes_on(tmp_path: Path) -> None:
    (tmp_path / "record.db").write_bytes(b"no database at all" * 500)

    record, aside = open_or_set_aside(tmp_path, None, time.monotonic, NOW)
    record.close()

    assert aside is not None
    with rig_in(tmp_path) as rig:
        rig.rounds(1)
        assert [p["id"] for p in rig.get("/probes")["items"]] == [PROBE]


def test_the_copy_is_written_only_when_something_changed_and_for_the_owner_only(rig: Rig) -> None:
    with_batch(rig)
    rig.rounds(3)
    keeper = Keeper(rig.folder, rig.record)
    keeper.keep()
    path = rig.folder / "kept" / COPIES[0]
    before = path.stat()

    rig.rounds(10)
    keeper.keep()

    assert path.stat().st_mtime_ns == before.st_mtime_ns
    assert before.st_mode & 0o077 == 0


def test_a_power_cut_while_the_record_is_replaced_loses_no_configuration(tmp_path: Path) -> None:
    from service.record.database import open_record
    from service.record.keeping import REPLACING

    straying_record(tmp_path)
    damage(tmp_path)
    (tmp_path / REPLACING).write_text("set-aside/earlier")
    (tmp_path / "record.db").unlink()
    open_record(tmp_path, None, time.monotonic).close()

    record, aside = open_or_set_aside(tmp_path, None, time.monotonic, NOW)
    record.close()

    assert aside == "set-aside/earlier"
    assert not (tmp_path / REPLACING).exists()
    with rig_in(tmp_path, 22.6, HandClock(NOW)) as rig:
        assert [v["id"] for v in rig.get("/vessels")["items"]] == ["bucket"]
