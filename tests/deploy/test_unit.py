"""The unit for systemd: hardened as measured by its own tool, and never given up."""

import configparser
import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from tests.deploy.conftest import ROOT

UNIT = ROOT / "deploy" / "gylewatch.service"
RULES = ROOT / "deploy" / "99-gylewatch-w1.rules"
MOST_EXPOSURE = 1.6


def unit() -> configparser.ConfigParser:
    """The unit, its keys as written; a repeated key keeps its last value."""
    parsed = configparser.ConfigParser(strict=False, interpolation=None)
    parsed.optionxform = str  # type: ignore[assignment, method-assign]
    parsed.read(UNIT)
    return parsed


@pytest.mark.component
def test_the_exposure_is_small() -> None:
    if shutil.which("systemd-analyze") is None:
        assert not os.environ.get("CI"), "systemd-analyze is missing: apt install systemd"
        pytest.skip("systemd-analyze is missing: apt install systemd")

    done = subprocess.run(
        ["systemd-analyze", "security", "--offline=yes", "--no-pager", str(UNIT)],
        capture_output=True,
        text=True,
        check=True,
    )

    found = re.search(r"Overall exposure level for gylewatch\.service: ([\d.]+)", done.stdout)
    assert found is not None, done.stdout
    assert float(found[1]) <= MOST_EXPOSURE


@pytest.mark.component
def test_the_supervisor_understands_every_line(tmp_path: Path) -> None:
    if shutil.which("systemd-analyze") is None:
        assert not os.environ.get("CI"), "systemd-analyze is missing: apt install systemd"
        pytest.skip("systemd-analyze is missing: apt install systemd")
    copy = tmp_path / UNIT.name
    copy.write_text(UNIT.read_text().replace("/opt/gylewatch/current/bin/gylewatch watch", "/bin/true"))

    done = subprocess.run(
        ["systemd-analyze", "verify", "--man=no", str(copy)], capture_output=True, text=True, check=False
    )

    assert "gylewatch.service" not in done.stderr, done.stderr


def test_it_is_started_again_without_end() -> None:
    assert unit()["Service"]["Restart"] == "always"
    assert unit()["Unit"]["StartLimitIntervalSec"] == "0"


def test_it_waits_for_no_network_and_for_no_clock_that_needs_one() -> None:
    waits_for = unit()["Unit"]["After"].split()

    assert "time-set.target" in waits_for
    assert {"network-online.target", "time-sync.target", "systemd-time-wait-sync.service"}.isdisjoint(
        waits_for
    )
    assert not {"Wants", "Requires", "BindsTo", "Requisite"} & set(unit()["Unit"])


def test_the_files_that_start_a_conversion_stay_writable() -> None:
    assert "-/sys/devices" in unit()["Service"]["ReadWritePaths"].split()


@pytest.mark.component
@pytest.mark.skipif(os.geteuid() != 0, reason="only root may give files away")
def test_the_rule_gives_the_files_of_a_bus_to_the_group_and_nothing_else(tmp_path: Path) -> None:
    bus = tmp_path / "devices" / "w1_bus_master1"
    probe = bus / "28-00000a1b2c3d"
    probe.mkdir(parents=True)
    for file in (bus / "therm_bulk_read", probe / "resolution", probe / "w1_slave"):
        file.touch(mode=0o644)
    rule = next(line for line in RULES.read_text().splitlines() if line.startswith("ACTION"))
    found = re.search(r"RUN\+=\"/bin/sh -c '(.*)'\"", rule)
    assert found is not None
    command = found[1].replace("/sys%p", str(probe)).replace("$$", "$").replace("chgrp gylewatch", "chgrp 1")

    subprocess.run(["/bin/sh", "-c", command], check=True)

    seen = {
        file.name: (oct(file.stat().st_mode & 0o777), file.stat().st_gid)
        for file in (bus / "therm_bulk_read", probe / "resolution", probe / "w1_slave")
    }
    assert seen == {
        "therm_bulk_read": ("0o664", 1),
        "resolution": ("0o664", 1),
        "w1_slave": ("0o644", 0),
    }
    assert "%" not in command
