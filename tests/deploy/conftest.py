"""What is built once for every test of packaging and installation."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="session")
def dist(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the sdist, and the wheel that was made from that sdist, as a release makes them."""
    out = tmp_path_factory.mktemp("dist")
    done = subprocess.run(
        [sys.executable, "-m", "build", "--outdir", str(out), str(ROOT)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-3000:]
    return out


@pytest.fixture(scope="session")
def wheel(dist: Path) -> Path:
    """The wheel."""
    (found,) = dist.glob("gylewatch-*.whl")
    return found


@pytest.fixture(scope="session")
def empty_environment(tmp_path_factory: pytest.TempPathFactory, wheel: Path) -> Path:
    """A virtual environment outside the checkout with nothing of gylewatch in it but the wheel.

    The packages it depends on are lent by the environment of the tests; the checkout is not, so whatever
    the wheel lacks is missing here.
    """
    folder = tmp_path_factory.mktemp("empty") / "venv"
    subprocess.run([sys.executable, "-m", "venv", str(folder)], check=True)
    (site,) = folder.glob("lib/python*/site-packages")
    pip = [str(folder / "bin" / "python"), "-m", "pip", "install", "--quiet", "--no-index", "--no-deps"]
    subprocess.run([*pip, str(wheel)], check=True)
    lent = next(path for path in map(Path, sys.path) if path.name == "site-packages")
    (site / "lent.pth").write_text(f"{lent}\n")
    return folder
