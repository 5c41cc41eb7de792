"""The installer, below a folder of its own: nothing else on this machine is touched."""

import os
import re
import shutil
import sqlite3
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.deploy.conftest import ROOT
from tests.running import free_port

pytestmark = pytest.mark.component

SCRIPTS = ("deploy/install.sh", "deploy/steps.sh")


@pytest.fixture(scope="module")
def lent(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The packages of this environment without gylewatch itself, so that nothing need be fetched."""
    folder = tmp_path_factory.mktemp("lent")
    site = next(path for path in map(Path, sys.path) if path.name == "site-packages")
    for entry in site.iterdir():
        if "gylewatch" not in entry.name and entry.suffix != ".pth" and entry.name != "pip":
            (folder / entry.name).symlink_to(entry)
    return folder


class Machine:
    """A folder that stands for a machine, and the installer called on it."""

    def __init__(self, root: Path, lent: Path) -> None:
        self.root = root
        self.opt = root / "opt" / "gylewatch"
        self.data = root / "var" / "lib" / "gylewatch"
        self.settings = root / "etc" / "gylewatch" / "gylewatch.toml"
        self.port = free_port()
        self._lent = lent

    def call(self, *words: str, code: int = 0) -> str:
        """Call the installer; its exit code must be `code`. Returns all it said."""
        kept = {k: v for k, v in os.environ.items() if not k.startswith("GYLEWATCH_")}
        offline = {"PIP_NO_INDEX": "1", "PIP_NO_DEPS": "1", "PYTHONPATH": str(self._lent)}
        settings = {"GYLEWATCH_CLOCK": "trusted", "GYLEWATCH_W1_ROOT": str(self.root / "w1")}
        done = subprocess.run(
            ["bash", str(ROOT / "deploy" / "install.sh"), "--root", str(self.root), *words],
            env=kept | offline | settings | {"READY_WITHIN_S": "40"},
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            check=False,
            timeout=180,
        )
        assert done.returncode == code, done.stdout
        return done.stdout

    def set_port(self) -> None:
        """A port of its own, as somebody's own settings."""
        self.settings.parent.mkdir(parents=True, exist_ok=True)
        self.settings.write_text(f'data_dir = "/var/lib/gylewatch"\nport = {self.port}\n')

    @property
    def version(self) -> str:
        """What is current."""
        return os.readlink(self.opt / "current").removeprefix("versions/")

    def everything(self) -> dict[str, int | str]:
        """Every file outside the environments, with its time of change or its target."""
        return {
            str(path.relative_to(self.root)): os.readlink(path)
            if path.is_symlink()
            else path.stat().st_mtime_ns
            for path in self.root.rglob("*")
            if "versions" not in path.parts and (path.is_symlink() or not path.is_dir())
        }


@pytest.fixture
def machine(tmp_path: Path, lent: Path) -> Machine:
    made = Machine(tmp_path / "machine", lent)
    made.root.mkdir()
    made.set_port()
    return made


def other_version(wheel: Path, into: Path, version: str, main: str | None = None) -> Path:
    """The same program as another version; with `main`, another body of service/main.py."""
    made = into / wheel.name.replace("-0.1.0-", f"-{version}-")
    with zipfile.ZipFile(wheel) as old, zipfile.ZipFile(made, "w") as new:
        for name in old.namelist():
            body = old.read(name)
            if name == "service/main.py" and main is not None:
                body = main.encode()
            if name == "service/version.py":
                body = body.replace(b"0.1.0", version.encode())
            if name.endswith("METADATA"):
                body = re.sub(rb"^Version: .*$", f"Version: {version}".encode(), body, flags=re.M)
            new.writestr(name.replace("gylewatch-0.1.0.dist-info", f"gylewatch-{version}.dist-info"), body)
    return made


SPOILS = """
import sqlite3

def run(settings, sources=()):
    with sqlite3.connect(settings.data_dir / "record.db") as record:
        record.execute("UPDATE alembic_version SET version_num = '9999'")
        record.execute("DROP TABLE minute")
    raise SystemExit("the new version cannot go on")
"""


def tables(machine: Machine) -> tuple[str, bool]:
    """The record's schema version, and whether it has its minutes."""
    with sqlite3.connect(machine.data / "record.db") as record:
        version = record.execute("SELECT version_num FROM alembic_version").fetchone()[0]
        found = record.execute("SELECT 1 FROM sqlite_master WHERE name = 'minute'").fetchone()
    return version, found is not None


@pytest.mark.skipif(shutil.which("shellcheck") is None and not os.environ.get("CI"), reason="no shellcheck")
def test_the_scripts_are_clean() -> None:
    done = subprocess.run(
        ["shellcheck", "--external-sources", *SCRIPTS], cwd=ROOT, capture_output=True, text=True, check=False
    )

    assert done.stdout == ""


def test_it_installs_twice_with_the_same_outcome_and_takes_itself_away(machine: Machine, wheel: Path) -> None:
    machine.settings.unlink()

    said = machine.call("--no-start", "--wheel", str(wheel))
    laid = machine.everything()
    machine.set_port()
    machine.call("--no-start", "--wheel", str(wheel))
    again = machine.everything()
    own_settings = machine.settings.read_text()
    program = subprocess.run(
        [machine.root / "usr/local/bin/gylewatch", "--version"],
        env={**os.environ, "PYTHONPATH": str(machine._lent)},
        capture_output=True,
        text=True,
        check=True,
    )
    mode = machine.data.stat().st_mode & 0o777
    (machine.data / "record.db").write_text("a record")
    gone = machine.call("--uninstall")
    left = set(machine.everything())
    machine.call("--uninstall", "--with-data")

    assert "http://127.0.0.1:8330" in said
    assert "ssh -L" in said
    assert {
        "etc/systemd/system/gylewatch.service",
        "etc/udev/rules.d/99-gylewatch-w1.rules",
        "etc/gylewatch/gylewatch.toml",
        "usr/local/bin/gylewatch",
        "opt/gylewatch/current",
    } == set(laid)
    assert set(again) == set(laid)
    assert f"port = {machine.port}" in own_settings
    assert program.stdout.startswith("gylewatch 0.1.0")
    assert mode == 0o700
    assert "Kept: " in gone
    assert left == {"etc/gylewatch/gylewatch.toml", "var/lib/gylewatch/record.db"}
    assert machine.everything() == {}


def test_an_upgrade_keeps_the_data_and_one_that_fails_brings_version_and_data_back(
    machine: Machine, wheel: Path, tmp_path: Path
) -> None:
    better = other_version(wheel, tmp_path, "0.2.0")
    spoilt = other_version(wheel, tmp_path, "0.3.0", SPOILS)
    refused_too_early = machine.call("--upgrade", "--wheel", str(wheel), code=1)
    machine.call("--wheel", str(wheel))
    first = machine.version
    whole = tables(machine)
    refused = machine.call("--wheel", str(better), code=1)

    upgraded = machine.call("--upgrade", "--wheel", str(better))
    second = machine.version
    copied = (machine.data.with_name("gylewatch.before-upgrade") / "record.db").exists()
    failed = machine.call("--upgrade", "--wheel", str(spoilt), code=3)
    aside = list(machine.data.parent.glob("gylewatch.failed-upgrade-*"))

    assert "Nothing is installed here yet" in refused_too_early
    assert "--upgrade" in refused
    assert first.startswith("0.1.0-")
    assert f"Upgraded from {first} to {second}" in upgraded
    assert second.startswith("0.2.0-")
    assert copied
    assert "the new version cannot go on" in failed
    assert f"{second} is back with its data" in failed
    assert machine.version == second
    assert tables(machine) == whole
    assert len(aside) == 1
    assert (aside[0] / "record.db").exists()
    assert not (machine.opt / "upgrade-under-way").exists()
    machine.call("--wheel", str(better))


def test_an_upgrade_that_a_power_cut_ended_is_taken_back_unless_it_runs(
    machine: Machine, wheel: Path, tmp_path: Path
) -> None:
    spoilt = other_version(wheel, tmp_path, "0.3.0", SPOILS)
    machine.call("--wheel", str(wheel))
    first, whole = machine.version, tables(machine)
    shutil.copytree(machine.data, machine.data.with_name("gylewatch.before-upgrade"))
    shutil.copytree(machine.opt / "versions" / first, machine.opt / "versions" / "0.3.0-cut", symlinks=True)
    with zipfile.ZipFile(spoilt) as packed:
        (main,) = (machine.opt / "versions" / "0.3.0-cut").glob("lib/*/site-packages/service/main.py")
        main.write_bytes(packed.read("service/main.py"))
    for program in (machine.opt / "versions" / "0.3.0-cut" / "bin").iterdir():
        if program.is_file() and not program.is_symlink():
            program.write_text(program.read_text().replace(first, "0.3.0-cut"))
    (machine.opt / "current").unlink()
    (machine.opt / "current").symlink_to("versions/0.3.0-cut")
    (machine.opt / "upgrade-under-way").write_text(first)

    said = machine.call("--wheel", str(wheel))

    assert "was cut off" in said
    assert f"Going back to gylewatch {first}" in said
    assert machine.version == first
    assert tables(machine) == whole


def test_the_1_wire_interface_is_explained_and_switched_on_once_when_asked(
    machine: Machine, wheel: Path
) -> None:
    config = machine.root / "boot" / "firmware" / "config.txt"
    config.parent.mkdir(parents=True)
    config.write_text("dtparam=audio=on\n[cm4]\notg_mode=1\n")

    explained = machine.call("--no-start", "--wheel", str(wheel))
    untouched = config.read_text()
    machine.call("--no-start", "--enable-1wire", "--wheel", str(wheel))
    machine.call("--no-start", "--enable-1wire", "--wheel", str(wheel))

    assert "dtoverlay=w1-gpio" in explained
    assert "--enable-1wire" in explained
    assert untouched.endswith("otg_mode=1\n")
    lines = config.read_text().splitlines()
    assert lines.count("dtoverlay=w1-gpio") == 1
    assert [line for line in lines if line.startswith("[")][-1] == "[all]"
    assert config.with_name("config.txt.before-gylewatch").read_text() == untouched


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["--colour"], 2, "There is no option --colour."),
        (["--with-data"], 2, "--uninstall"),
        (["--wheel"], 2, "--wheel FILE"),
        (["--wheel", "/nowhere.whl"], 1, "There is no wheel /nowhere.whl"),
    ],
)
def test_a_mistaken_call_is_refused_and_lays_nothing(
    machine: Machine, words: list[str], code: int, said: str
) -> None:
    before = machine.everything()

    assert said in machine.call(*words, code=code)
    assert machine.everything() == before


def test_a_wrong_setting_is_named_and_the_service_is_not_started(machine: Machine, wheel: Path) -> None:
    machine.settings.write_text('port = "eighty"\n')

    said = machine.call("--wheel", str(wheel), code=1)

    assert "port in" in said
    assert "'eighty'" in said
    assert list(machine.data.iterdir()) == []
    assert machine.settings.read_text() == 'port = "eighty"\n'
