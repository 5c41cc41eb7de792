"""What a test may ask of the emulated kernel while it runs: one line of JSON in, one out."""

import json
import socketserver
import threading
from pathlib import Path
from typing import Any

from tests.emulated.driver import Kernel
from tests.emulated.part import Fault

PROBE_FAULTS = (
    "crc", "power-on", "power-on-7ff", "zeros", "disconnected", "too-hot", "empty", "one-line", "cut",
    "contradicts", "garbage", "frozen", "slow", "hang", "jump", "eio",
)  # fmt: skip


def obey(kernel: Kernel, asked: dict[str, Any]) -> dict[str, Any]:
    """Do one thing to the emulated machine. Raises KeyError or ValueError when it cannot."""
    match asked:
        case {"do": "set", "probe": rom, "temp_c": temp_c}:
            part = kernel.need(rom)[1]
            part.set_temperature(float(temp_c), float(asked.get("drift_c_per_s", 0.0)))
        case {"do": "plug", "probe": rom, "temp_c": temp_c}:
            kernel.plug(rom, int(asked.get("master", 1)), float(temp_c), asked.get("first", ""))
        case {"do": "unplug", "probe": rom}:
            kernel.unplug(rom, bool(asked.get("lingers", False)))
        case {"do": "fault", "probe": rom, "fault": name} if name in PROBE_FAULTS:
            fault = Fault(name, asked.get("times"), float(asked.get("value", 0.0)))
            kernel.need(rom)[1].add_fault(fault)
        case {"do": "clear", "probe": rom}:
            kernel.need(rom)[1].clear_faults()
        case {"do": "hang-bus", "master": number}:
            kernel.masters[number].hung.set()
        case {"do": "release"}:
            for master in kernel.masters.values():
                master.let_everything_go()
        case {"do": "bulk", "master": number, "bulk": ("works" | "missing" | "read-only") as bulk}:
            kernel.masters[number].bulk = bulk
        case {"do": "count"}:
            return {
                str(number): {"conversions": m.conversions, "reads": m.reads, "triggers": m.triggers}
                for number, m in kernel.masters.items()
            }
        case _:
            raise ValueError(f"cannot do {asked}")
    return {}


class _Line(socketserver.StreamRequestHandler):
    server: "ControlServer"

    def handle(self) -> None:
        for line in self.rfile:
            try:
                answer = {"done": obey(self.server.kernel, json.loads(line))}
            except (KeyError, ValueError, TypeError) as error:
                answer = {"refused": {"why": str(error)}}
            self.wfile.write(json.dumps(answer).encode("utf-8") + b"\n")


class ControlServer(socketserver.ThreadingUnixStreamServer):
    """Listens on a socket file beside the mount, never inside it."""

    daemon_threads = True

    def __init__(self, path: Path, kernel: Kernel) -> None:
        self.kernel = kernel
        super().__init__(str(path), _Line)

    def start(self) -> None:
        threading.Thread(target=self.serve_forever, name="control", daemon=True).start()
