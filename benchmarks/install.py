"""From a fresh Debian to the first reading and a received test alarm, by following the README only.

Run as root: python -m benchmarks.install [--folder FOLDER]. Budget: 10 minutes. The Debian is made by
debootstrap in a folder and entered by chroot, so systemd does not run there: after `install.sh` the program
is started by hand, as the installer says. The probe is emulated by files, the far end of the channel is here.
"""

import argparse
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import httpx

from benchmarks.debian import PROBE, bootstrap, entered, lay_probe, must, prepare
from tests.notify.receivers import Answer, http_receiver
from tests.running import eventually

BUDGET_MIN = 10.0
PORT = 8330
INSTALL = "cd /root/gylewatch && bash deploy/install.sh"
BY_HAND = "setpriv --reuid=gylewatch --regid=gylewatch --init-groups gylewatch watch"


def main() -> None:
    """Print the figures; the exit code is 1 when the budget is missed."""
    asks = argparse.ArgumentParser(description=__doc__)
    asks.add_argument(
        "--folder", type=Path, help="a fresh Debian made by debootstrap; made anew unless given"
    )
    given = asks.parse_args()
    if os.geteuid() != 0:
        sys.exit("This needs root: debootstrap and chroot do.")
    with socket.socket() as one:
        if one.connect_ex(("127.0.0.1", PORT)) == 0:
            sys.exit(f"Port {PORT} is taken: stop what listens there first.")
    made = Path(tempfile.mkdtemp(prefix="debian-"))
    made.chmod(0o755)  # the service's user must be able to enter its own root folder
    folder = given.folder or made
    try:
        began = time.monotonic()
        bootstrap(folder, ["ca-certificates"])
        print(f"debootstrap                              {time.monotonic() - began:6.1f} s  (not counted)")
        with entered(folder):
            took_s = timed(folder)
    finally:
        shutil.rmtree(made, ignore_errors=True)
    print(f"fresh Debian to a received test alarm    {took_s / 60:6.2f} minutes  (budget {BUDGET_MIN:g})")
    raise SystemExit(0 if took_s / 60 <= BUDGET_MIN else 1)


def timed(folder: Path) -> float:
    """Install, start, read, and have a test alarm arrive; the seconds of it all."""
    environment, log = prepare(folder), folder.parent / f"{folder.name}.log"
    chroot = ["chroot", str(folder), "sh", "-c"]
    lay_probe(folder / "w1")
    began = time.monotonic()
    # Debian's smallest variant has no lists of packages yet
    took_s = must([*chroot, INSTALL], environment, log)
    print(f"deploy/install.sh                        {took_s:6.1f} s")
    with (folder / "etc/gylewatch/gylewatch.toml").open("a") as settings:
        settings.write('w1_root = "/w1"\n')
    with log.open("ab") as out:
        program = subprocess.Popen([*chroot, f"exec {BY_HAND}"], env=environment, stdout=out, stderr=out)
    try:
        read_and_told(began)
    finally:
        program.terminate()
        program.wait(30)
    return time.monotonic() - began


def read_and_told(began: float) -> None:
    """Wait for the first reading; make vessel and channel as the README says; have a test alarm arrive."""
    with http_receiver(Answer(200)) as receiver, httpx.Client(base_url=f"http://127.0.0.1:{PORT}") as client:
        first = eventually(lambda: reading(client), 60, "a first reading")
        print(f"first reading, {first:.2f} C, after          {time.monotonic() - began:6.1f} s")
        api = "/api/v1"
        calls: list[tuple[str, str, dict[str, object]]] = [
            ("POST", f"{api}/vessels", {"name": "Bucket", "volume_l": 5}),
            ("PATCH", f"{api}/probes/{PROBE}", {"vessel_id": "bucket", "role": "liquid"}),
            ("POST", f"{api}/channels", {"kind": "webhook", "name": "Hall", "url": receiver.url}),
            ("POST", f"{api}/channels/hall/test", {}),
        ]
        for verb, path, body in calls:
            answer = client.request(verb, path, json=body)
            if answer.status_code >= 300:
                sys.exit(f"{verb} {path}: {answer.status_code} {answer.text}")
        eventually(lambda: bool(receiver.received), 30, "the test alarm")
        print(f"test alarm received after                {time.monotonic() - began:6.1f} s")


def reading(client: httpx.Client) -> float | None:
    """What the probe shows, once it shows something."""
    try:
        last = client.get(f"/api/v1/probes/{PROBE}").json().get("last")
    except httpx.HTTPError:
        return None
    return None if last is None else float(last["temp_c"])


if __name__ == "__main__":
    main()
