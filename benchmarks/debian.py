"""A fresh Debian in a folder, for the figures of installing: made by debootstrap, entered by chroot."""

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from tests.emulated.tree import EmulatedTree

ROOT = Path(__file__).parents[1]
CERTIFICATES = Path("etc/ssl/certs/ca-certificates.crt")
PROBE = "28-00000a1b2c3d"
PATHS = "/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin"


def bootstrap(folder: Path, include: Sequence[str]) -> None:
    """Make the folder a small Debian 12, unless it is one already."""
    if (folder / "etc" / "debian_version").exists():
        return
    words = ["debootstrap", "--variant=minbase", f"--include={','.join(include)}", "bookworm", str(folder)]
    subprocess.run(words, check=True, stdout=subprocess.DEVNULL)


def prepare(folder: Path) -> dict[str, str]:
    """Lay this commit into /root/gylewatch; returns the environment inside, also behind a proxy."""
    checkout = folder / "root" / "gylewatch"
    shutil.rmtree(checkout, ignore_errors=True)
    checkout.mkdir(parents=True)
    packed = subprocess.run(["git", "archive", "HEAD"], cwd=ROOT, check=True, capture_output=True).stdout
    subprocess.run(["tar", "-x", "-C", str(checkout)], input=packed, check=True)
    shutil.copyfile("/etc/resolv.conf", folder / "etc" / "resolv.conf")
    if os.environ.get("SSL_CERT_FILE"):
        shutil.copyfile(os.environ["SSL_CERT_FILE"], folder / CERTIFICATES)
    inside = f"/{CERTIFICATES}"
    names = ("PIP_CERT", "SSL_CERT_FILE", "NODE_EXTRA_CA_CERTS")
    kept = {name: inside for name in names if os.environ.get(name)}
    kept |= {k: v for k, v in os.environ.items() if k.lower().endswith("_proxy") or k == "PIP_INDEX_URL"}
    return {"PATH": PATHS, "HOME": "/root", "LANG": "C.UTF-8", **kept}


@contextmanager
def entered(folder: Path) -> Iterator[None]:
    """The kernel's own file systems below the folder, for as long as it is used by chroot."""
    mounts = [("-t", "proc", "proc", str(folder / "proc")), ("--rbind", "/dev", str(folder / "dev"))]
    done = []
    try:
        for words in mounts:
            subprocess.run(["mount", *words], check=True)
            done.append(words[-1])
            subprocess.run(["mount", "--make-rslave", words[-1]], check=True)
        yield
    finally:
        for place in reversed(done):
            subprocess.run(["umount", "--recursive", "--lazy", place], check=False)


def lay_probe(devices: Path) -> None:
    """One probe, in plain files as the kernel shows them, where any user may read them."""
    shutil.rmtree(devices, ignore_errors=True)
    with EmulatedTree({PROBE: 19.8125}, bulk="missing") as tree:
        for file in tree.root.rglob("*"):
            target = devices / file.relative_to(tree.root)
            if file.is_symlink():
                target.symlink_to(os.path.relpath(file.resolve(), file.parent.resolve()))
            elif file.is_dir():
                target.mkdir(parents=True, exist_ok=True)
            else:
                target.parent.mkdir(parents=True, exist_ok=True)
                target.write_bytes(read_or_empty(file))
    devices.chmod(0o755)


def read_or_empty(file: Path) -> bytes:
    """A file's content; empty for one that can only be written."""
    try:
        return file.read_bytes()
    except OSError:
        return b""


def must(words: Sequence[str], environment: dict[str, str], log: Path) -> float:
    """Run a command that has to succeed; its seconds. What it says goes into the log."""
    began = time.monotonic()
    with log.open("ab") as out:
        done = subprocess.run(words, env=environment, stdout=out, stderr=subprocess.STDOUT, check=False)
    if done.returncode:
        sys.exit(f"{' '.join(words)} ended with {done.returncode}:\n{log.read_text()[-3000:]}")
    return time.monotonic() - began
