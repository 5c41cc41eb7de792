"""The wheel and the sdist carry everything: installed outside the checkout, the program runs whole."""

import os
import re
import subprocess
import tarfile
import zipfile
from pathlib import Path

import pytest

from service.version import __version__
from tests.deploy.conftest import ROOT
from tests.running import Running, eventually

pytestmark = pytest.mark.component

PACKAGES = ("sensors", "service", "web")
MADE_HERE = {"__pycache__", "node_modules", "vendor"}


def sources(*folders: str) -> set[str]:
    """Every file of these folders of the checkout that was not made by a tool."""
    return {
        path.relative_to(ROOT).as_posix()
        for folder in folders
        for path in (ROOT / folder).rglob("*")
        if path.is_file() and not MADE_HERE.intersection(path.parts)
    }


def outside_the_checkout(program: Path, *words: str) -> str:
    """What a program of another environment says, started elsewhere; it must succeed."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith("GYLEWATCH_") and k != "PYTHONPATH"}
    done = subprocess.run(
        [str(program), *words], cwd="/", env=kept, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_the_wheel_carries_every_file_of_the_program_and_nothing_else_but_the_chart_library(
    wheel: Path,
) -> None:
    with zipfile.ZipFile(wheel) as packed:
        names = {name for name in packed.namelist() if ".dist-info/" not in name}

    assert sources(*PACKAGES) - names == set()
    assert {Path(name).parent.as_posix() for name in names - sources(*PACKAGES)} == {"web/static/vendor"}
    assert "service/record/migrations/script.py.mako" in names


def test_the_sdist_carries_what_a_build_an_installation_and_the_tests_need(dist: Path) -> None:
    (sdist,) = dist.glob("gylewatch-*.tar.gz")
    with tarfile.open(sdist) as packed:
        names = {name.partition("/")[2] for name in packed.getnames()}

    assert sources(*PACKAGES, "deploy", "tests", "docs", "benchmarks") - names == set()
    assert {"pyproject.toml", "hatch_build.py", "constraints.txt", "README.md", "LICENSE"} <= names


def test_the_wheel_alone_runs_the_whole_program(empty_environment: Path, tmp_path: Path) -> None:
    programs = empty_environment / "bin"
    where = outside_the_checkout(
        programs / "python", "-c", "import service, web; print(service.__path__, web.__path__)"
    )
    said = outside_the_checkout(programs / "gylewatch", "--version")

    with Running(tmp_path / "data", program=programs / "gylewatch") as running:
        page = running.client.get("/")
        addresses = sorted(set(re.findall(r'(?:href|src)="(/static/[^"]+)"', page.text)))
        files = {address: running.client.get(address) for address in addresses}
        chart = next(a for a in addresses if a.endswith(".css")).split("/css/")[0] + "/vendor/uplot.min.js"
        library = running.client.get(chart)
        eventually(lambda: running.client.get("/readyz").json()["ready"], 10, "readiness")

    assert str(ROOT) not in where
    assert str(empty_environment) in where
    assert said == f"gylewatch {__version__}"
    assert page.status_code == 200
    assert {Path(address).suffix for address in addresses} >= {".css", ".js"}
    assert {answer.status_code for answer in files.values()} == {200}
    assert all(answer.content for answer in files.values())
    assert (library.status_code, b"uPlot" in library.content) == (200, True)
