"""An emulated 1-wire tree for a test: mounted on entry, gone on exit whatever happened in between."""

import json
import shutil
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from tests.emulated.unmount import is_mounted, unmount

REPOSITORY = Path(__file__).resolve().parents[2]


class EmulatedTree:
    """``with EmulatedTree({"28-00000a1b2c3d": 20.0}, speed=50) as tree: … tree.root …``

    probes maps ROM ids to degrees Celsius; one on another bus is written ``"28-…@2"``. speed makes
    conversions and transfers that many times faster than a real bus. bulk: ``works``, ``missing`` or
    ``read-only``. The server is a process of its own and ends with this one, even if this one is killed.
    """

    def __init__(
        self,
        probes: Mapping[str, float],
        *,
        speed: float = 50.0,
        masters: int = 1,
        bulk: str = "works",
        old_kernel: bool = False,
    ) -> None:
        self._probes = dict(probes)
        self._options = ["--speed", str(speed), "--masters", str(masters), "--bulk", bulk]
        self._options += ["--old-kernel"] if old_kernel else []
        self._server: subprocess.Popen[bytes] | None = None
        self._place = Path("/nowhere")

    @property
    def root(self) -> Path:
        """What stands for /sys/bus/w1/devices."""
        return self._place / "devices"

    def __enter__(self) -> Self:
        self._place = Path(tempfile.mkdtemp(prefix="emulated-w1-"))
        self.root.mkdir()
        self.start()
        return self

    def start(self) -> None:
        """Start the server and wait for the mount; also again after `stop` or `kill`."""
        listed = []
        for name, temp_c in self._probes.items():
            rom, _, number = name.partition("@")
            listed.append(f"{rom}={temp_c}@{number or 1}")
        command = [sys.executable, "-m", "tests.emulated", str(self.root), *self._options, "--control"]
        command += [str(self._socket_path), "--until-stdin-closes", "--probes", *listed]
        self._socket_path.unlink(missing_ok=True)
        self._server = subprocess.Popen(
            command, cwd=REPOSITORY, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
        )
        give_up_at = time.monotonic() + 20
        while not (is_mounted(self.root) and self._socket_path.exists()):
            if self._server.poll() is not None or time.monotonic() > give_up_at:
                raise RuntimeError(f"the emulated tree did not come up: {self.stop()}")
            time.sleep(0.01)

    def stop(self) -> str:
        """Take the tree away, reads that hang coming back first, and tell what the server complained of."""
        server, self._server = self._server, None
        if server is None:
            return ""
        if server.stdin:
            server.stdin.close()
        try:
            server.wait(timeout=10)
        except subprocess.TimeoutExpired:
            server.kill()
            server.wait(timeout=10)
        unmount(self.root)
        if server.stderr is None:
            return ""
        with server.stderr as complaints:
            return complaints.read().decode("utf-8", "replace")

    def kill(self) -> None:
        """End the server without warning: what is mounted answers with errors from now on."""
        if self._server:
            self._server.kill()
            self._server.wait(timeout=10)

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        try:
            self.stop()
        finally:
            if not is_mounted(self.root):
                shutil.rmtree(self._place, ignore_errors=True)

    @property
    def _socket_path(self) -> Path:
        return self._place / "control"

    def ask(self, do: str, **details: Any) -> dict[str, Any]:
        """One order to the emulated kernel; see `tests.emulated.control.obey`."""
        with socket.socket(socket.AF_UNIX) as line:
            line.settimeout(10)
            line.connect(str(self._socket_path))
            line.sendall(json.dumps({"do": do, **details}).encode("utf-8") + b"\n")
            answer: dict[str, Any] = json.loads(line.makefile("rb").readline())
        if "refused" in answer:
            raise ValueError(answer["refused"]["why"])
        done: dict[str, Any] = answer["done"]
        return done

    def set(self, probe: str, temp_c: float, drift_c_per_s: float = 0.0) -> None:
        """Set a probe's temperature; from then on it may drift at a steady rate."""
        self.ask("set", probe=probe, temp_c=temp_c, drift_c_per_s=drift_c_per_s)

    def plug(self, probe: str, temp_c: float, *, master: int = 1, first: str = "") -> None:
        """Put a probe on the bus; first names a fault that its first read shows."""
        self.ask("plug", probe=probe, temp_c=temp_c, master=master, first=first)

    def unplug(self, probe: str, *, lingers: bool = False) -> None:
        """Pull a probe; when it lingers, the kernel still lists it and its file comes back empty."""
        self.ask("unplug", probe=probe, lingers=lingers)

    def fault(self, probe: str, fault: str, *, times: int | None = None, value: float = 0.0) -> None:
        """Make a probe misbehave, for so many reads or until `clear`.

        value: for ``jump`` the degrees added, for ``slow`` the seconds of bus time, for ``cut`` the
        characters lost.
        """
        self.ask("fault", probe=probe, fault=fault, times=times, value=value)

    def clear(self, probe: str) -> None:
        """Take all faults from a probe; a read that hangs comes back."""
        self.ask("clear", probe=probe)

    def hang_bus(self, master: int = 1) -> None:
        """From now on nothing on this bus comes back, until `release`."""
        self.ask("hang-bus", master=master)

    def release(self) -> None:
        """Let every read that hangs come back, and a bus that hung work again."""
        self.ask("release")

    def counts(self, master: int = 1) -> dict[str, int]:
        """How many conversions, reads and triggers this bus has seen."""
        counted: dict[str, int] = self.ask("count")[str(master)]
        return counted
