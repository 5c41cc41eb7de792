"""A probe that stands still to the last digit, and who bears witness that the house moved meanwhile."""

from pathlib import Path

import pytest

from sensors.sample import FaultKind
from tests.rig import PROBE, HandClock, HandSource, Rig, with_batch

EVERY_S = 600.0
HOURS_13 = 13 * 6


def house(folder: Path, temp_c: float | None) -> Rig:
    """A rig that looks every ten minutes: a probe on the bus, and one beside the vessel that is pushed."""
    rig = Rig(folder, HandClock(), HandSource({PROBE: temp_c}), sweep_s=EVERY_S)
    with_batch(rig)
    rig.post(
        "/probes", {"label": "Hall", "interval_s": EVERY_S, "vessel_id": "bucket", "role": "surroundings"}
    )
    return rig


def push(rig: Rig, temp_c: float) -> None:
    sample = {"at": rig.clock.now().isoformat(), "temp_c": temp_c}
    rig.post("/probes/hall/samples", {"samples": [sample]})


@pytest.mark.parametrize(("moves_c", "frozen"), [(3.0, True), (1.0, False)])
def test_a_probe_that_arrives_bears_witness_that_one_on_the_bus_is_frozen(
    tmp_path: Path, moves_c: float, frozen: bool
) -> None:
    rig = house(tmp_path, 19.9375)
    rig.rounds(1)
    rig.source.values[PROBE] = 20.0

    for step in range(HOURS_13):
        push(rig, 16.0 + moves_c * step / HOURS_13)
        rig.rounds(1)

    health = rig.get(f"/probes/{PROBE}")["health"]
    assert ("frozen" in health["faults_1h"]) is frozen
    assert ("probe-frozen" in rig.standing()) is frozen
    assert "above-band" not in rig.standing()


def test_a_probe_on_the_bus_bears_witness_that_one_that_arrives_is_frozen(tmp_path: Path) -> None:
    rig = house(tmp_path, 20.0)
    push(rig, 16.0625)
    rig.rounds(1)

    for step in range(HOURS_13):
        rig.source.values[PROBE] = 20.0 + 0.0625 * (step // 2)
        push(rig, 16.0)
        rig.rounds(1)

    assert "frozen" in rig.get("/probes/hall")["health"]["faults_1h"]
    assert rig.get(f"/probes/{PROBE}")["health"]["faults_1h"] == {}


def test_the_alarm_returns_only_when_the_value_moves_again(tmp_path: Path) -> None:
    rig = house(tmp_path, 19.9375)
    rig.rounds(1)
    rig.source.values[PROBE] = 20.0
    for step in range(HOURS_13):
        push(rig, 16.0 + step / 20)
        rig.rounds(1)
    stood = rig.standing()["probe-frozen"]["state"]

    rig.source.faults[PROBE] = FaultKind.EMPTY
    rig.rounds(8)
    while_silent = rig.standing()["probe-frozen"]["state"]
    rig.source.faults.clear()
    rig.source.values[PROBE] = 20.125
    rig.rounds(4)

    assert (stood, while_silent) == ("unacknowledged", "unacknowledged")
    assert rig.standing()["probe-frozen"]["state"] == "returned-unacknowledged"


def test_a_probe_taken_away_is_neither_missed_nor_a_fault(tmp_path: Path) -> None:
    rig = house(tmp_path, 20.0)
    del rig.source.values[PROBE]
    rig.rounds(2)
    before = rig.get(f"/probes/{PROBE}")["health"]["faults_1h"]

    rig.client.delete(f"/api/v1/probes/{PROBE}")
    rig.rounds(2)

    assert before == {"vanished": 2}
    assert PROBE not in rig.watch.intake.live


def test_a_probe_that_was_replaced_is_not_missed(tmp_path: Path) -> None:
    other = type(PROBE)("28-00000a1b2c3e")
    rig = Rig(tmp_path, HandClock(), HandSource({PROBE: 20.0, other: 20.0}))
    with_batch(rig)
    del rig.source.values[PROBE]
    rig.rounds(1)

    rig.post(f"/probes/{PROBE}/replace", {"with": other})
    rig.rounds(3)

    assert rig.get(f"/probes/{PROBE}")["health"]["faults_1h"] == {}
    assert rig.get("/vessels/bucket")["now"]["temp_c"] == 20.0
