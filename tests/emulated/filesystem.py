"""The tree below /sys/bus/w1/devices as a FUSE file system: each open asks the driver once."""

import errno
import itertools
import os
import stat
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import mfusepy

from tests.emulated.driver import Kernel, Master
from tests.emulated.part import Part

SYSFS_SIZE = 4096


class W1Files(mfusepy.Operations):  # type: ignore[misc]
    """Files show what the driver shows, written anew for every handle, and never cached."""

    use_ns = True

    def __init__(self, kernel: Kernel) -> None:
        self._kernel = kernel
        self._handles = itertools.count(1)
        self._shown: dict[int, bytes] = {}

    def _names(self, path: str) -> list[str] | None:
        match [name for name in path.split("/") if name]:
            case []:
                masters = list(self._kernel.masters.values())
                return [m.name for m in masters] + [rom for m in masters for rom in list(m.parts)]
            case [master_name]:
                if master := self._master(master_name):
                    bulk = ["therm_bulk_read"] if master.has_bulk_file and master.parts else []
                    fixed = ["w1_master_slaves", "w1_master_slave_count", "w1_master_name"]
                    return fixed + bulk + list(master.parts)
            case [master_name, rom]:
                master = self._master(master_name)
                if master and rom in master.parts:
                    newer = [] if master.old_kernel else ["temperature", "resolution"]
                    return ["w1_slave", "name", *newer]
        return None

    def _master(self, name: str) -> Master | None:
        return next((m for m in list(self._kernel.masters.values()) if m.name == name), None)

    def _is_link(self, path: str) -> bool:
        return path.count("/") == 1 and self._kernel.find(path[1:]) is not None

    def _is_file(self, path: str) -> bool:
        above, _, name = path.rpartition("/")
        names = self._names(above) or []
        return path.count("/") > 1 and name in names and self._names(path) is None

    def _part(self, path: str) -> tuple[Master, Part] | None:
        pieces = path.split("/")
        return self._kernel.find(pieces[2]) if len(pieces) == 4 else None

    def getattr(self, path: str, fh: int | None = None) -> dict[str, Any]:
        if self._is_link(path):
            return {"st_mode": stat.S_IFLNK | 0o777, "st_nlink": 1}
        if self._names(path) is not None:
            return {"st_mode": stat.S_IFDIR | 0o755, "st_nlink": 2}
        if self._is_file(path):
            return {"st_mode": stat.S_IFREG | self._mode(path), "st_nlink": 1, "st_size": SYSFS_SIZE}
        raise mfusepy.FuseOSError(errno.ENOENT)

    def _mode(self, path: str) -> int:
        name = path.rpartition("/")[2]
        if name == "therm_bulk_read":
            master = self._master(path.split("/")[1])
            return 0o444 if master and master.bulk == "read-only" else 0o644
        return 0o644 if name in ("w1_slave", "resolution") else 0o444

    def readlink(self, path: str) -> str:
        found = self._kernel.find(path[1:])
        if found is None:
            raise mfusepy.FuseOSError(errno.ENOENT)
        return f"{found[0].name}/{path[1:]}"

    def readdir(self, path: str, fh: int) -> Iterable[str]:
        names = self._names(path)
        if names is None:
            raise mfusepy.FuseOSError(errno.ENOENT)
        return [".", "..", *names]

    def open(self, path: str, fi: Any) -> int:
        if not self._is_file(path):
            raise mfusepy.FuseOSError(errno.ENOENT)
        if fi.flags & (os.O_WRONLY | os.O_RDWR) and not self._mode(path) & 0o200:
            raise mfusepy.FuseOSError(errno.EACCES)
        fi.fh = next(self._handles)
        fi.direct_io = 1
        return 0

    def release(self, path: str, fi: Any) -> int:
        self._shown.pop(fi.fh, None)
        return 0

    def truncate(self, path: str, length: int, fh: int | None = None) -> int:
        return 0

    def read(self, path: str, size: int, offset: int, fi: Any) -> bytes:
        if offset == 0:
            self._shown[fi.fh] = self._show(path, _caller_is_dying())
        return self._shown.get(fi.fh, b"")[offset : offset + size]

    def _show(self, path: str, is_dying: Callable[[], bool]) -> bytes:
        name = path.rpartition("/")[2]
        if found := self._part(path):
            master, part = found
            shows = {
                "w1_slave": master.show_w1_slave,
                "temperature": master.show_temperature,
                "resolution": master.show_resolution,
            }
            return shows[name](part, is_dying) if name in shows else f"{part.rom}\n".encode("ascii")
        above = self._master(path.split("/")[1])
        if above is None:
            raise mfusepy.FuseOSError(errno.ENODEV)
        if name == "therm_bulk_read":
            return above.show_bulk()
        if name == "w1_master_slaves":
            return ("".join(f"{rom}\n" for rom in list(above.parts)) or "not found.\n").encode("ascii")
        return f"{len(above.parts) if name.endswith('count') else above.name}\n".encode("ascii")

    def write(self, path: str, data: bytes, offset: int, fi: Any) -> int:
        name = path.rpartition("/")[2]
        if name == "therm_bulk_read" and (master := self._master(path.split("/")[1])):
            master.store_bulk(data, _caller_is_dying())
        elif name == "resolution" and (found := self._part(path)):
            found[0].store_resolution(found[1], data)
        elif name != "w1_slave":
            raise mfusepy.FuseOSError(errno.EIO)
        return len(data)


def _caller_is_dying() -> Callable[[], bool]:
    """Whether the thread that reads has been told to die: nobody else would wake it here."""
    thread = mfusepy.fuse_get_context()[2]

    def is_dying() -> bool:
        try:
            status = Path(f"/proc/{thread}/status").read_text()
        except OSError:
            return True
        pending = [line for line in status.splitlines() if line.startswith(("SigPnd:", "ShdPnd:"))]
        return any(int(line.split()[1], 16) & 0x100 for line in pending)

    return is_dying
