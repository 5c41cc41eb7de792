"""Takes a FUSE mount away, also one whose server is dead or busy."""

import os
import shutil
import subprocess
from pathlib import Path


def unmount(root: Path) -> None:
    """Detach the mount at root; nothing happens when there is none."""
    for command in (["fusermount3", "-u"], ["fusermount", "-u"], ["fusermount3", "-uz"], ["umount", "-l"]):
        if not is_mounted(root):
            return
        if shutil.which(command[0]):
            subprocess.run([*command, str(root)], check=False, capture_output=True, timeout=10)


def is_mounted(root: Path) -> bool:
    """From the kernel's table, since asking a dead mount itself would fail or block."""
    wanted = os.path.realpath(root.parent) + "/" + root.name
    mounts = Path("/proc/self/mounts").read_text(encoding="utf-8", errors="replace")
    return any(line.split(" ")[1].replace("\\040", " ") == wanted for line in mounts.splitlines())
