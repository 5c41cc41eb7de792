"""Small libraries in C, preloaded into the running program to make its disk or its clock misbehave."""

import shutil
import subprocess
from pathlib import Path

HERE = Path(__file__).parent
FLAGS = ("-shared", "-fPIC", "-O1", "-Wall", "-Wextra", "-Werror")


def compiler() -> str | None:
    """The C compiler, or None without one."""
    return shutil.which("cc") or shutil.which("gcc")


def shim(name: str, into: Path) -> Path:
    """The library made from the source of that name."""
    made = into / f"{name}.so"
    if not made.exists():
        into.mkdir(parents=True, exist_ok=True)
        found = compiler()
        assert found is not None, "a C compiler is missing: apt install gcc libc6-dev"
        command = [found, *FLAGS, "-o", str(made), str(HERE / f"{name}.c"), "-ldl"]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
    return made
