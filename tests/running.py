"""The installed program, run as a user would run it, with a client for its API."""

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, Self, TypeVar

import httpx

T = TypeVar("T")

PROGRAM = Path(sys.executable).parent / "gylewatch"


def free_port() -> int:
    """A port that nobody has right now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def eventually(look: Callable[[], T | None], within_s: float = 10.0, what: str = "it") -> T:
    """What `look` gives once it gives something; fails when that takes too long."""
    until = time.monotonic() + within_s
    while time.monotonic() < until:
        found = look()
        if found:
            return found
        time.sleep(0.05)
    raise AssertionError(f"{what} did not happen within {within_s:g} s")


class Running:
    """`gylewatch watch` in a process of its own, on loopback, with its data in `folder`."""

    def __init__(
        self,
        folder: Path,
        w1_root: Path | None = None,
        command: str = "watch",
        program: Path = PROGRAM,
        environment: Mapping[str, str] | None = None,
        **settings: object,
    ) -> None:
        self.folder = folder
        self._program = program
        self.port = free_port()
        self.url = f"http://127.0.0.1:{self.port}"
        self._command = command
        self._log_path = folder.parent / f"{folder.name}.log"
        kept = {k: v for k, v in os.environ.items() if not k.startswith("GYLEWATCH_")}
        self._environment = {
            **kept,
            "GYLEWATCH_DATA_DIR": str(folder),
            "GYLEWATCH_PORT": str(self.port),
            "GYLEWATCH_SWEEP_S": "1",
            "GYLEWATCH_CLOCK": "trusted",
            "GYLEWATCH_TIMEZONE": "UTC",
            "GYLEWATCH_W1_ROOT": str(w1_root or folder / "no-bus"),
            **{f"GYLEWATCH_{name.upper()}": str(value) for name, value in settings.items()},
            **(environment or {}),
        }
        self.client = httpx.Client(base_url=self.url, timeout=10)
        self._process: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> Self:
        try:
            self.start()
        except AssertionError:
            self.stop()
            self.client.close()
            raise
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()
        self.client.close()

    @property
    def pid(self) -> int:
        """The process's number."""
        assert self._process is not None
        return self._process.pid

    @property
    def alive(self) -> bool:
        """Whether the process has not ended."""
        return self._process is not None and self._process.poll() is None

    @property
    def log(self) -> str:
        """What it wrote to standard error so far."""
        return self._log_path.read_text() if self._log_path.exists() else ""

    def start(self, ready_within_s: float = 60.0) -> None:
        """Start it and wait until it is ready."""
        with self._log_path.open("ab") as log:
            self._process = subprocess.Popen(
                [str(self._program), self._command], env=self._environment, stdout=log, stderr=log
            )
        eventually(self._is_ready, ready_within_s, f"readiness ({self.log[-2000:]})")

    def _is_ready(self) -> bool:
        assert self._process is not None
        if self._process.poll() is not None:
            raise AssertionError(f"it ended with {self._process.returncode}: {self.log[-2000:]}")
        try:
            return self.client.get("/readyz").status_code == 200
        except httpx.HTTPError:
            return False

    def kill(self) -> None:
        """SIGKILL: as a power cut would."""
        assert self._process is not None
        self._process.send_signal(signal.SIGKILL)
        self._process.wait()

    def stop(self, within_s: float = 10.0) -> float:
        """SIGTERM; returns how long its end took, in seconds."""
        if self._process is None or self._process.poll() is not None:
            return 0.0
        began = time.monotonic()
        self._process.terminate()
        try:
            self._process.wait(within_s)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
            raise AssertionError(f"it did not stop within {within_s:g} s: {self.log[-2000:]}") from None
        return time.monotonic() - began

    def get(self, path: str, **params: Any) -> Any:
        """GET under the API's base; the answer must be 200."""
        answer = self.client.get(f"/api/v1{path}", params=params)
        assert answer.status_code == 200, answer.text
        return answer.json()

    def post(self, path: str, body: Any = None, expect: int | None = None) -> Any:
        """POST under the API's base; the answer must be a success, or have the expected status."""
        answer = self.client.post(f"/api/v1{path}", json=body)
        wanted = (200, 201) if expect is None else (expect,)
        assert answer.status_code in wanted, answer.text
        return answer.json()

    def patch(self, path: str, body: Any) -> Any:
        """PATCH under the API's base; the answer must be 200."""
        answer = self.client.patch(f"/api/v1{path}", json=body)
        assert answer.status_code == 200, answer.text
        return answer.json()
