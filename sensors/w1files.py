"""The files of Linux's w1_therm driver: what is on which bus, one probe's text, a bulk conversion."""

import errno
import io
import os
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from sensors.sample import FaultKind, ProbeId
from sensors.scratchpad import FAMILIES, Reading, Unusable, is_finer, read_text

MASTER = re.compile(r"w1_bus_master[0-9]+")
PROBE = re.compile(rf"(?:{'|'.join(FAMILIES)})-[0-9a-f]{{12}}")

LOOSE = ""
"""The bus of probes that no master admits to; they are read one after another."""

TRIGGER = b"trigger\n"
"""Exactly these bytes start a bulk conversion; without the newline they are swallowed in silence."""

_GONE = (errno.ENOENT, errno.ENODEV, errno.ENXIO)


def list_buses(root: Path) -> dict[str, tuple[ProbeId, ...]]:
    """The probes of every bus by the bus's name. Raises OSError when root cannot be listed."""
    names = sorted(os.listdir(root))
    unclaimed = {name for name in names if PROBE.fullmatch(name)}
    buses: dict[str, tuple[ProbeId, ...]] = {}
    for master in (name for name in names if MASTER.fullmatch(name)):
        try:
            listed = (root / master / "w1_master_slaves").read_text("ascii", "replace").split()
        except OSError:
            listed = []
        mine = sorted(unclaimed.intersection(listed))
        unclaimed.difference_update(mine)
        buses[master] = tuple(map(ProbeId, mine))
    if unclaimed:
        buses[LOOSE] = tuple(map(ProbeId, sorted(unclaimed)))
    return buses


@dataclass(frozen=True, slots=True)
class Bulk:
    """How a bulk conversion went. why: what stood in its way; leftover: unread values wait to be returned."""

    done: bool
    why: str = ""
    leftover: bool = False


def convert_all(file: Path) -> Bulk:
    """Start a bulk conversion and wait for it: the write returns when every part has converted."""
    try:
        handle = os.open(file, os.O_WRONLY)
        try:
            os.write(handle, TRIGGER)
        finally:
            os.close(handle)
        state = bulk_state(file)
    except FileNotFoundError:
        return Bulk(False, "this kernel has no bulk conversion")
    except PermissionError:
        return Bulk(False, f"{file} is not writable for this user", bulk_state(file) == "1")
    except OSError as error:
        return Bulk(False, f"the bulk conversion failed ({error.strerror})")
    if state == "1":
        return Bulk(True)
    return Bulk(False, "the driver did not take the order for a bulk conversion")


def bulk_state(file: Path) -> str:
    """``-1`` a conversion is under way, ``1`` values wait to be read, ``0`` neither, "" no such file."""
    try:
        return _read_once(file).decode("ascii", "replace").strip()
    except OSError:
        return ""


def set_resolution(folder: Path, bits: int) -> str:
    """Set one probe's resolution until its supply fails; "" or why it could not be done."""
    try:
        handle = os.open(folder / "resolution", os.O_WRONLY)
        try:
            os.write(handle, b"%d\n" % bits)
        finally:
            os.close(handle)
    except OSError as error:
        return error.strerror or str(error)
    return ""


class KernelProbes:
    """Reads probes below one root through w1thermsensor, each text exactly once.

    The library raises where the text would tell more (a true 85.0 C counts as a reset, an empty file as
    "not ready") and gives no bytes away, and asking it twice would cost a second conversion, and could
    bring another value. So its sensor gets a path that opens the file once and keeps what came: the
    library evaluates that text by its own rules, then the same text is held against ours.
    """

    def __init__(self, root: Path) -> None:
        self._root = root
        self._library: Callable[[ProbeId], tuple[float | None, _OnePath]] | None = None

    def load(self) -> None:
        """Import the library, which takes its time once; it must not count as a slow read."""
        self._library = self._library or _load_library(self._root)

    def read(self, probe: ProbeId) -> Reading | Unusable:
        """One read of one probe. It never raises, but it may block for as long as the kernel does."""
        library = self._library or _load_library(self._root)
        library_c, path = library(probe)
        if path.error is not None:
            kind = FaultKind.VANISHED if path.error.errno in _GONE else FaultKind.UNREADABLE
            return Unusable(kind, path.error.strerror or str(path.error))
        if not path.was_read:
            return Unusable(FaultKind.VANISHED, "its folder is gone")
        found = read_text(path.text, probe[:2])
        if isinstance(found, Reading) and library_c is not None and not is_finer(found.scratchpad):
            return Reading(library_c, found.scratchpad)
        return found


class _OnePath:
    """Stands in for the path of ``w1_slave``: one read call for the library, its bytes kept for us."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self.text = b""
        self.was_read = False
        self.error: OSError | None = None

    def open(self, _mode: str) -> io.StringIO:
        try:
            self.text = _read_once(self._path)
        except OSError as error:
            self.error = error
            raise
        self.was_read = True
        return io.StringIO(self.text.decode("ascii", "replace"))


def _load_library(root: Path) -> Callable[[ProbeId], tuple[float | None, _OnePath]]:
    os.environ["W1THERMSENSOR_NO_KERNEL_MODULE"] = "1"
    from w1thermsensor import Sensor, W1ThermSensor
    from w1thermsensor.errors import W1ThermSensorError

    class KernelProbe(W1ThermSensor):  # type: ignore[misc]
        BASE_DIRECTORY = root

    def read(probe: ProbeId) -> tuple[float | None, _OnePath]:
        path = _OnePath(root / probe / KernelProbe.SLAVE_FILE)
        try:
            sensor = KernelProbe(Sensor.from_id_string(probe[:2]), probe[3:])
            sensor.sensorpath = path
            return float(sensor.get_temperature()), path
        except (W1ThermSensorError, ValueError, IndexError):
            return None, path
        except OSError as error:
            path.error = error
            return None, path

    return read


def _read_once(file: Path) -> bytes:
    handle = os.open(file, os.O_RDONLY)
    try:
        return os.read(handle, 4096)
    finally:
        os.close(handle)
