"""A failed or an old backup raises its alarm."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from service.record.backup.description import BackupError
from service.watch.backups import backup_jobs
from service.watch.jobs import Jobs
from service.watch.loop import Watch
from tests.record.test_rotation import pretend
from tests.rig import rig_in


def test_the_alarm_is_raised_by_a_failed_backup_and_returns_with_the_next_good_one(tmp_path: Path) -> None:
    with rig_in(tmp_path) as rig:
        told = replace(rig.watch._settings, backups=tmp_path)
        rig.watch = Watch(rig.record, [rig.source], rig.clock, told, rig.broker, lambda: None)
        rig.desk = replace(rig.desk, watch=rig.watch)
        rig.app.state.desk = rig.desk
        nightly, _ = backup_jobs(rig.record, tmp_path, tmp_path / "drive")
        jobs = Jobs(rig.record, rig.clock.now)
        rig.rounds(1)

        with pytest.raises(BackupError, match="plugged in"):
            jobs.run_long(nightly)
        rig.until(4200)
        raised = rig.standing()
        (tmp_path / "drive").mkdir()
        jobs.run_long(nightly)
        rig.until(600)
        after = rig.standing()

    assert "plugged in" in raised["backup-old"]["reason"]
    assert after.get("backup-old", {"state": "normal"})["state"] != "unacknowledged"


def test_the_alarm_is_raised_when_the_newest_backup_is_old(tmp_path: Path) -> None:
    with rig_in(tmp_path) as rig:
        pretend(tmp_path / "backups", rig.clock.at - timedelta(days=3, hours=1))
        told = replace(rig.watch._settings, backups=tmp_path)
        rig.watch = Watch(rig.record, [rig.source], rig.clock, told, rig.broker, lambda: None)
        rig.app.state.desk = replace(rig.desk, watch=rig.watch)
        rig.until(4200)

        assert "3 days" in rig.standing()["backup-old"]["reason"]
