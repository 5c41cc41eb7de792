"""The service under a real systemd: readiness, a kill, a program that hangs.

Run as root: python -m benchmarks.booted [--folder FOLDER] [--nspawn PATH]. A Debian 12 made by debootstrap is
booted with systemd as its first process by systemd-nspawn (apt install systemd-container debootstrap); in it
`install.sh` is called as on any machine. It shares this machine's network. Budgets: ready again at most 3 s
after a kill; a program that hangs is started anew by the watchdog.
"""

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx

from benchmarks.debian import bootstrap, prepare
from tests.running import eventually

PORT = 8330
BUDGET_S = 3.0
PACKAGES = ("ca-certificates", "systemd", "systemd-sysv", "dbus", "udev", "python3", "python3-venv", "procps")


class Booted:
    """A booted Debian; commands are run in it as its root."""

    def __init__(self, leader: int, environment: dict[str, str]) -> None:
        self._enter = ["nsenter", "-t", str(leader), "-m", "-u", "-i", "-p", "-r", "-w"]
        self._environment = environment

    def run(self, *words: str, code: int | None = 0) -> str:
        """What a command says; it must end with `code`, unless that is None."""
        done = subprocess.run(
            [*self._enter, *words], env=self._environment, capture_output=True, text=True, check=False
        )
        if code is not None and done.returncode != code:
            sys.exit(
                f"{' '.join(words)} ended with {done.returncode}: {done.stdout[-2000:]}{done.stderr[-2000:]}"
            )
        return done.stdout.strip()

    def shown(self, what: str) -> str:
        """A property of the service."""
        return self.run("systemctl", "show", "gylewatch", "--value", "--property", what)


def running_in(children: Path, environment: dict[str, str]) -> Booted | None:
    """The booted Debian once its systemd says so; nspawn's first child is not yet the one that stays."""
    for leader in children.read_text().split():
        inside = Booted(int(leader), environment)
        if inside.run("systemctl", "is-system-running", code=None) in ("running", "degraded"):
            return inside
    return None


@contextmanager
def booted(folder: Path, nspawn: str, environment: dict[str, str]) -> Iterator[Booted]:
    """Boot the folder; power it off at the end."""
    words = [nspawn, "--register=no", "--keep-unit", "--quiet", "-D", str(folder), "--boot", "--console=pipe"]
    with (folder.parent / f"{folder.name}.boot.log").open("wb") as log:
        container = subprocess.Popen(words, stdin=subprocess.DEVNULL, stdout=log, stderr=log)
    try:
        children = Path(f"/proc/{container.pid}/task/{container.pid}/children")
        inside = eventually(lambda: running_in(children, environment), 120, "the boot")
        yield inside
    finally:
        container.terminate()
        try:
            container.wait(30)
        except subprocess.TimeoutExpired:
            container.kill()
            container.wait()


def ready() -> bool:
    """Whether the service answers that it is ready."""
    try:
        return httpx.get(f"http://127.0.0.1:{PORT}/readyz", timeout=2).status_code == 200
    except httpx.HTTPError:
        return False


def back_after(inside: Booted, signal: str, within_s: float) -> float:
    """Seconds from a signal to the service until it is ready anew."""
    before = inside.shown("MainPID")
    began = time.monotonic()
    inside.run("kill", f"-{signal}", before)
    eventually(lambda: inside.shown("MainPID") not in ("0", before), within_s, "another process")
    eventually(ready, 30, "readiness")
    return time.monotonic() - began


def main() -> None:
    """Print the figures; the exit code is 1 when a budget is missed."""
    asks = argparse.ArgumentParser(description=__doc__)
    asks.add_argument("--folder", type=Path, help="a Debian made by debootstrap; made anew unless given")
    asks.add_argument("--nspawn", default="systemd-nspawn")
    given = asks.parse_args()
    if os.geteuid() != 0:
        sys.exit("This needs root: debootstrap and systemd-nspawn do.")
    made = Path(tempfile.mkdtemp(prefix="debian-"))
    made.chmod(0o755)
    folder = given.folder or made
    try:
        bootstrap(folder, PACKAGES)
        environment = prepare(folder)
        with booted(folder, given.nspawn, environment) as inside:
            missed = figures(inside)
    finally:
        shutil.rmtree(made, ignore_errors=True)
    raise SystemExit(1 if missed else 0)


def figures(inside: Booted) -> bool:
    """Install and measure; whether a budget was missed."""
    began = time.monotonic()
    inside.run("bash", "/root/gylewatch/deploy/install.sh")
    print(f"deploy/install.sh                       {time.monotonic() - began:6.1f} s")
    print(
        f"type, state, watchdog                   {inside.shown('Type')}, {inside.shown('ActiveState')}, "
        f"{inside.shown('WatchdogUSec')}; says: {inside.shown('StatusText')}"
    )
    exposure = inside.run("systemd-analyze", "security", "--no-pager", "gylewatch")
    found = re.search(r"exposure level for \S+ ([\d.]+)", exposure)
    print(f"exposure of the running service         {found[1] if found else '?':>6}    (budget 1.6)")
    started = [
        int(inside.shown(f"{name}TimestampMonotonic")) / 1e6 for name in ("ExecMainStart", "ActiveEnter")
    ]
    print(f"start to READY=1                        {started[1] - started[0]:6.2f} s")
    kills = [back_after(inside, "KILL", 30) for _ in range(3)]
    for took_s in kills:
        print(f"SIGKILL to ready again                  {took_s:6.2f} s  (budget {BUDGET_S:g})")
    hung_s = back_after(inside, "STOP", 300)
    print(f"SIGSTOP to ready again by the watchdog  {hung_s:6.1f} s")
    print(f"restarts counted                        {inside.shown('NRestarts'):>6}")
    return min(kills) > BUDGET_S


if __name__ == "__main__":
    main()
