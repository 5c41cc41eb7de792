"""Looking at the machine: files of the kernel and of the system, below a root that tests choose."""

import os
import re
import shutil
import stat
from collections.abc import Callable
from ipaddress import IPv6Address, ip_address
from pathlib import Path

from sensors.w1files import list_buses
from service.doctor.facts import BusFacts, StorageFacts
from service.doctor.user import User

CONFIG_FILES = ("boot/firmware/config.txt", "boot/config.txt")
OVERLAY = re.compile(r"^\s*dtoverlay=w1-gpio", re.MULTILINE)
THROTTLED_FILE = "sys/devices/platform/soc/soc:firmware/get_throttled"
LISTENING = "0A"


def read_text(path: Path) -> str | None:
    """What a small file says, or None when it cannot be read."""
    try:
        return path.read_text(encoding="utf-8", errors="replace")
    except OSError:
        return None


def bus_facts(root: Path, w1_root: Path, user: User) -> BusFacts:
    """The 1-wire bus, without reading any probe."""
    configs = [text for name in CONFIG_FILES if (text := read_text(root / name)) is not None]
    overlay = any(OVERLAY.search(text) for text in configs) if configs else None
    try:
        buses = list_buses(w1_root)
    except OSError:
        return BusFacts(str(w1_root), overlay, False, 0, 0)
    triggers = [w1_root / bus / "therm_bulk_read" for bus in buses if bus]
    sealed = tuple(str(file) for file in triggers if file.exists() and not user.may_write(file))
    return BusFacts(str(w1_root), overlay, True, len(buses), sum(map(len, buses.values())), sealed)


def throttled(root: Path, ask_firmware: Callable[[], str | None]) -> int | None:
    """The firmware's word on power and heat: from the kernel, else as ``vcgencmd get_throttled`` says it."""
    said = read_text(root / THROTTLED_FILE)
    if said is None:
        told = ask_firmware()
        said = told.partition("=")[2] if told else None
    try:
        return None if said is None else int(said.strip(), 16)
    except ValueError:
        return None


def storage_facts(root: Path, folder: Path, suspect: str) -> StorageFacts:
    """The disk below a folder, or below the nearest folder above it that exists."""
    here = folder
    while not here.exists() and here != here.parent:
        here = here.parent
    try:
        free: int | None = shutil.disk_usage(here).free
        read_only = bool(os.statvfs(here).f_flag & os.ST_RDONLY)
    except OSError:
        free, read_only = None, False
    counted = [read_text(file) for file in root.glob("sys/fs/ext4/*/errors_count")]
    errors = sum(int(text) for text in counted if text is not None and text.strip().isdecimal())
    return StorageFacts(free, read_only, errors, _worn(root), (folder / suspect).exists())


def _worn(root: Path) -> int | None:
    """The most used-up life of the cards here: eMMC counts it in tenths (JEDEC JESD84-B51)."""
    steps: list[int] = []
    for file in root.glob("sys/block/mmcblk*/device/life_time"):
        steps += [int(word, 16) for word in (read_text(file) or "").split() if word.startswith("0x")]
    known = [step for step in steps if 0 < step <= 11]
    return 10 * (max(known) - 1) if known else None


def open_wide(root: Path, port: int) -> tuple[str, ...]:
    """The addresses other than loopback on which a TCP port listens."""
    found = set()
    for name in ("tcp", "tcp6"):
        for line in (read_text(root / "proc/net" / name) or "").splitlines()[1:]:
            words = line.split()
            if len(words) > 3 and words[3] == LISTENING:
                address, _, port_hex = words[1].partition(":")
                if int(port_hex, 16) == port:
                    found.add(_address(address))
    return tuple(sorted(str(one) for one in found if not _is_loopback(one)))


def _address(text: str) -> str:
    """An address as in /proc/net/tcp: words of four bytes, the lowest first as on all machines we support."""
    raw = b"".join(bytes.fromhex(text[i : i + 8])[::-1] for i in range(0, len(text), 8))
    return str(ip_address(raw))


def _is_loopback(text: str) -> bool:
    address = ip_address(text)
    if isinstance(address, IPv6Address) and address.ipv4_mapped is not None:
        return address.ipv4_mapped.is_loopback
    return address.is_loopback


def others_may_read(folder: Path) -> bool:
    """Whether users other than the owner and the group may look into a folder."""
    return bool(folder.stat().st_mode & (stat.S_IROTH | stat.S_IXOTH))
