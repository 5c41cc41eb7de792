"""Mounts an emulated 1-wire tree: ``python -m tests.emulated ROOT --probes 28-00000a1b2c3d=20.0``."""

import argparse
import os
import subprocess
import sys
import threading
from pathlib import Path

import mfusepy

from tests.emulated.control import ControlServer
from tests.emulated.driver import Kernel, Master
from tests.emulated.filesystem import W1Files
from tests.emulated.part import Part
from tests.emulated.unmount import unmount


def arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.emulated", description=__doc__)
    parser.add_argument("root", type=Path, help="an empty directory to mount on")
    parser.add_argument(
        "--probes", nargs="*", default=[], metavar="ROM=TEMP[@MASTER]", help="28-00000a1b2c3d=20.0@1"
    )
    parser.add_argument("--masters", type=int, default=1, help="how many buses there are")
    parser.add_argument("--speed", type=float, default=1.0, help="times faster than a real bus")
    parser.add_argument("--bulk", choices=["works", "missing", "read-only"], default="works")
    parser.add_argument("--old-kernel", action="store_true", help="CRC failures are printed, no bulk")
    parser.add_argument("--control", type=Path, help="a socket file that takes orders")
    parser.add_argument("--until-stdin-closes", action="store_true", help="end with whoever started it")
    return parser.parse_args()


def build(asked: argparse.Namespace) -> Kernel:
    masters = {
        number: Master(number, asked.speed, asked.bulk, asked.old_kernel)
        for number in range(1, asked.masters + 1)
    }
    for text in asked.probes:
        rom, _, rest = text.partition("=")
        temp_c, _, number = rest.partition("@")
        masters[int(number or 1)].parts[rom] = Part(rom, float(temp_c))
    return Kernel(masters)


def end_with_the_starter(root: Path, kernel: Kernel) -> None:
    """Wait for standard input to close, then leave nothing mounted behind."""
    sys.stdin.buffer.read()
    for master in kernel.masters.values():
        master.let_everything_go()
    unmount(root)
    os._exit(0)


def main() -> None:
    asked = arguments()
    kernel = build(asked)
    if asked.control:
        ControlServer(asked.control, kernel).start()
    if asked.until_stdin_closes:
        threading.Thread(target=end_with_the_starter, args=(asked.root, kernel), daemon=True).start()
    never = {"entry_timeout": 0, "attr_timeout": 0, "negative_timeout": 0}
    try:
        mfusepy.FUSE(W1Files(kernel), str(asked.root), raw_fi=True, foreground=True, fsname="w1", **never)
    except (RuntimeError, subprocess.SubprocessError) as error:
        sys.exit(f"could not mount on {asked.root}: {error}")


if __name__ == "__main__":
    main()
