"""A real MQTT broker, Mosquitto, started by a test on loopback."""

import getpass
import os
import shutil
import socket
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import paho.mqtt.publish as paho
import paho.mqtt.subscribe as paho_subscribe
import pytest

from tests.running import eventually, free_port

MOSQUITTO = shutil.which("mosquitto", path=os.environ.get("PATH", "") + ":/usr/sbin:/usr/local/sbin")
SELF_SIGNED = (
    *("openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes"),
    *("-days", "2", "-subj", "/CN=127.0.0.1", "-addext", "subjectAltName=IP:127.0.0.1"),
)


class Mosquitto:
    """One broker. With a user it lets nobody else in; with tls it has a second port for that."""

    def __init__(
        self, folder: Path, user: str | None = None, password: str | None = None, tls: bool = False
    ) -> None:
        self.port, self.tls_port = free_port(), free_port()
        self.certificate = folder / "certificate.pem"
        self.auth = None if user is None else {"username": user, "password": password}
        self._folder = folder
        self._config = folder / "mosquitto.conf"
        lines = [
            f"listener {self.port} 127.0.0.1",
            f"allow_anonymous {'true' if user is None else 'false'}",
            f"user {getpass.getuser()}",
            "log_dest stderr",
            "persistence true",
            f"persistence_location {folder}/",
        ]
        if user is not None:
            passwords = folder / "passwords"
            subprocess.run(["mosquitto_passwd", "-b", "-c", passwords, user, str(password)], check=True)
            lines.append(f"password_file {passwords}")
        if tls:
            key = folder / "key.pem"
            subprocess.run(
                [*SELF_SIGNED, "-keyout", key, "-out", self.certificate],
                check=True,
                capture_output=True,
            )
            lines += [f"listener {self.tls_port} 127.0.0.1", f"certfile {self.certificate}", f"keyfile {key}"]
        self._config.write_text("\n".join(lines) + "\n")
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it and wait until it listens."""
        assert MOSQUITTO is not None
        with (self._folder / "mosquitto.log").open("ab") as log:
            self._process = subprocess.Popen([MOSQUITTO, "-c", self._config], stdout=log, stderr=log)
        eventually(self._listens, 10, f"the broker ({self.log[-500:]})")

    def stop(self) -> None:
        """Stop it; what is retained is kept for the next start."""
        if self._process is not None:
            self._process.terminate()
            self._process.wait(10)
            self._process = None

    @property
    def log(self) -> str:
        """What it wrote."""
        return (self._folder / "mosquitto.log").read_text()

    def _listens(self) -> bool:
        assert self._process is not None
        assert self._process.poll() is None, self.log
        with socket.socket() as asking:
            return asking.connect_ex(("127.0.0.1", self.port)) == 0

    def send(self, topic: str, *payloads: str | bytes, retain: bool = False) -> None:
        """Publish as a device would; returns when the broker has it."""
        paho.multiple(
            [(topic, payload, 1, retain) for payload in payloads],
            hostname="127.0.0.1",
            port=self.port,
            auth=self.auth,
        )

    def kept(self, topic: str) -> tuple[str, bool]:
        """The retained message of a topic, and whether it is marked as such."""
        message = paho_subscribe.simple(
            topic, qos=1, hostname="127.0.0.1", port=self.port, auth=self.auth, keepalive=5
        )
        return message.payload.decode(), message.retain


@contextmanager
def mosquitto(
    folder: Path, user: str | None = None, password: str | None = None, tls: bool = False
) -> Iterator[Mosquitto]:
    """A broker that is not started yet, and is stopped at the end."""
    if MOSQUITTO is None:
        if os.environ.get("CI"):
            raise AssertionError("mosquitto is missing: apt install mosquitto")
        pytest.skip("needs mosquitto (apt install mosquitto)")
    folder.mkdir(exist_ok=True)
    made = Mosquitto(folder, user, password, tls)
    try:
        yield made
    finally:
        made.stop()


def settle(seconds: float = 0.6) -> None:
    """Give messages the time in which they would have arrived, before saying that none did."""
    time.sleep(seconds)
