"""The demonstration from end to end: the estimate of its batch against the twin's own truth."""

from datetime import UTC, datetime
from pathlib import Path

import pytest

from sensors.simulated.demo import PITCHED_BEFORE, demo_scenario
from sensors.simulated.kitchen import Kitchen
from service.demo import SEED
from tests.running import Running


@pytest.mark.component
def test_the_estimate_holds_the_truth_and_the_service_stays_without_numpy(tmp_path: Path) -> None:
    with Running(tmp_path / "demo", command="demo") as running:
        batch = running.get("/batches")["items"][0]
        name = batch["id"]
        estimate = running.get(f"/batches/{name}/estimate")
        forecast = running.get(f"/batches/{name}/forecast")
        leave = running.get(f"/batches/{name}/unattended")
        summary = running.get(f"/batches/{name}/summary")
        loaded = Path(f"/proc/{running.pid}/maps").read_text()

    began = datetime.fromisoformat(batch["started_at"])
    truth = Kitchen(demo_scenario(began + PITCHED_BEFORE), SEED)
    true_sg = truth.at(datetime.fromisoformat(estimate["at"]).astimezone(UTC)).gravity
    assert estimate["gravity"]["low"] <= true_sg <= estimate["gravity"]["high"]
    assert abs(estimate["gravity"]["sg"] - true_sg) < 0.006
    assert len(forecast["points"]) == 193
    assert leave["because"]
    assert summary["worked_at_c"] == pytest.approx(18, abs=1.5)
    assert "numpy" not in loaded
    assert "sqlite" in loaded
