"""A real PostgreSQL server, started by a test on loopback in a folder of its own."""

import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from tests.running import free_port

USER = "postgres"
"""PostgreSQL refuses to run as root; Debian's package makes this user."""


def binaries() -> Path | None:
    """Where PostgreSQL's own programs are; Debian keeps them out of PATH."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda p: int(p.parts[-3]))
    beside = shutil.which("initdb")
    return found[-1].parent if found else None if beside is None else Path(beside).parent


def _called(*words: str | Path) -> None:
    as_user = ["setpriv", f"--reuid={USER}", f"--regid={USER}", "--init-groups"] if os.geteuid() == 0 else []
    done = subprocess.run([*as_user, *words], capture_output=True, text=True, cwd="/")
    assert done.returncode == 0, done.stdout + done.stderr


class PostgreSQL:
    """One server; `database` makes a fresh database in it and gives its address."""

    def __init__(self, folder: Path, programs: Path) -> None:
        self.port = free_port()
        self._data = folder / "data"
        self._folder = folder
        self._programs = programs
        self._made = 0

    def start(self) -> None:
        """Make the server's folder and start it."""
        if os.geteuid() == 0:
            shutil.chown(self._folder, USER, USER)
        _called(
            *(self._programs / "initdb", "--pgdata", self._data, "--username", "gylewatch"),
            *("--auth", "trust", "--no-sync", "--encoding", "UTF8"),
        )
        options = (
            f"-p {self.port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={self._folder} "
            "-c fsync=off"
        )
        log = self._folder / "log"
        _called(self._programs / "pg_ctl", "-D", self._data, "-w", "-l", log, "-o", options, "start")

    def stop(self) -> None:
        """Stop it at once."""
        _called(self._programs / "pg_ctl", "-D", self._data, "-m", "immediate", "-w", "stop")

    def database(self) -> str:
        """The address of a new, empty database."""
        self._made += 1
        name = f"record_{self._made}"
        _called(
            *(self._programs / "createdb", "-h", "127.0.0.1", "-p", str(self.port)),
            *("-U", "gylewatch", name),
        )
        return f"postgresql+psycopg://gylewatch@127.0.0.1:{self.port}/{name}"


@contextmanager
def postgresql() -> Iterator[PostgreSQL]:
    """A running server that is stopped at the end, with its folder gone.

    Its folder is not one of pytest's, which keeps those to their owner: another user cannot come through.
    """
    programs = binaries()
    if programs is None:
        if os.environ.get("CI"):
            raise AssertionError("PostgreSQL is missing: apt install postgresql")
        pytest.skip("needs PostgreSQL (apt install postgresql)")
    with tempfile.TemporaryDirectory(prefix="postgresql-") as folder:
        made = PostgreSQL(Path(folder), programs)
        made.start()
        try:
            yield made
        finally:
            made.stop()
