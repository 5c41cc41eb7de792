"""The behaviour of Linux 6.1's w1_therm driver, as far as a reader of its files can see it.

Told in our own words from the published source of ``drivers/w1/slaves/w1_therm.c`` (Linux 6.1).
"""

import errno
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from tests.emulated.part import CONVERSION_S, Fault, Part, crc8

TRANSFER_S = 0.011
"""Reset, address, command and nine bytes back: 19 bytes of 8 slots of about 65 us, and a 1 ms reset."""

TRIES = 5
"""How often the driver reads a scratchpad whose CRC is wrong before it gives up."""


@dataclass
class Master:
    """One bus and its lock: a conversion holds it from start to end, whoever asked for it."""

    number: int
    speed: float = 1.0
    bulk: str = "works"
    old_kernel: bool = False
    parts: dict[str, Part] = field(default_factory=dict)
    lock: threading.Lock = field(default_factory=threading.Lock)
    hung: threading.Event = field(default_factory=threading.Event)
    conversions: int = 0
    reads: int = 0
    triggers: int = 0

    @property
    def name(self) -> str:
        return f"w1_bus_master{self.number}"

    @property
    def has_bulk_file(self) -> bool:
        return self.bulk != "missing" and not self.old_kernel

    def _wait(self, real_s: float) -> None:
        time.sleep(real_s / self.speed)

    def _hang(self, let_go: threading.Event, is_dying: Callable[[], bool]) -> None:
        """Block for good, but let a caller that is being killed go: the driver's waits are interruptible."""
        while not let_go.wait(0.05):
            if is_dying():
                raise OSError(errno.EINTR, "killed while it waited")

    def _hang_with_the_bus(self, is_dying: Callable[[], bool]) -> None:
        while self.hung.is_set():
            time.sleep(0.02)
            if is_dying():
                raise OSError(errno.EINTR, "killed while it waited")

    def _convert_and_read(self, part: Part) -> tuple[bytes, bool]:
        with self.lock:
            self.conversions += 1
            self._wait(CONVERSION_S[part.resolution])
            part.convert()
        return self._read_scratchpad(part)

    def _read_scratchpad(self, part: Part) -> tuple[bytes, bool]:
        """Nine bytes and whether their CRC was right in one of the tries."""
        noisy = part.take("crc") is not None
        got = b""
        for _ in range(TRIES):
            with self.lock:
                self._wait(TRANSFER_S)
                got = part.on_the_wire()
            if noisy:
                got = bytes([got[0] ^ 0x04]) + got[1:]
            if crc8(got[:8]) == got[8]:
                return got, True
        return got, False

    def _measure(self, part: Part) -> tuple[bytes, bool] | None:
        """What both value files do first. None stands for the driver's empty answer."""
        if not self.old_kernel:
            if part.triggered < 0:
                return None
            if part.triggered > 0:
                part.triggered = 0
                return self._read_scratchpad(part)
        return self._convert_and_read(part)

    def _before_a_read(self, part: Part, is_dying: Callable[[], bool]) -> bool:
        """False when the driver would answer with nothing."""
        self.reads += 1
        self._hang_with_the_bus(is_dying)
        if part.take("hang"):
            self._hang(part.let_go, is_dying)
        if slow := part.take("slow"):
            self._wait(slow.value or 5.0)
        if part.take("eio"):
            raise OSError(errno.EIO, "emulated")
        return part.take("empty") is None

    def show_w1_slave(self, part: Part, is_dying: Callable[[], bool]) -> bytes:
        """The two lines: bytes as read with the verdict, then the last good bytes with the value."""
        if not self._before_a_read(part, is_dying):
            return b""
        measured = self._measure(part)
        if measured is None:
            return b""
        got, right = measured
        if not right and not self.old_kernel:
            return b""
        if right:
            part.last_good = got
        value = _millidegrees(got)
        if part.take("contradicts"):
            value += 4000
        first = f"{got.hex(' ')} : crc={crc8(got[:8]):02x} {'YES' if right else 'NO'}\n"
        text = f"{first}{part.last_good.hex(' ')} t={value}\n"
        if part.take("one-line"):
            text = first
        if cut := part.take("cut"):
            text = text[: -int(cut.value or 4)]
        if part.take("garbage"):
            text = text[::-1]
        return text.encode("ascii")

    def show_temperature(self, part: Part, is_dying: Callable[[], bool]) -> bytes:
        if not self._before_a_read(part, is_dying):
            return b""
        measured = self._measure(part)
        if measured is None or not measured[1]:
            return b""
        return f"{_millidegrees(measured[0])}\n".encode("ascii")

    def show_resolution(self, part: Part, is_dying: Callable[[], bool]) -> bytes:
        """The dear way round: it costs a conversion, so that nobody comes to rely on it being cheap."""
        self._before_a_read(part, is_dying)
        got, right = self._convert_and_read(part)
        return f"{((got[4] >> 5) & 3) + 9}\n".encode("ascii") if right else b""

    def store_resolution(self, part: Part, text: bytes) -> None:
        try:
            bits = int(text)
        except ValueError:
            raise OSError(errno.EINVAL, "not a number") from None
        if bits not in CONVERSION_S:
            raise OSError(errno.EINVAL, "9 to 12")
        with self.lock:
            self._wait(TRANSFER_S)
            part.resolution = bits
            four = part.memory[:4] + bytes([((bits - 9) << 5) | 0x1F]) + part.memory[5:8]
            part.memory = four + bytes([crc8(four)])

    def show_bulk(self) -> bytes:
        """-1 while a part converts, 1 when a value waits to be read, else 0."""
        states = [-1 if "empty" in part.faults else part.triggered for part in self.parts.values()]
        return b"-1\n" if -1 in states else b"1\n" if 1 in states else b"0\n"

    def store_bulk(self, text: bytes, is_dying: Callable[[], bool]) -> None:
        """Only these eight bytes count; anything else is swallowed without an error."""
        if text != b"trigger\n":
            return
        self.triggers += 1
        self._hang_with_the_bus(is_dying)
        parts = list(self.parts.values())
        if not parts:
            return
        with self.lock:
            for part in parts:
                part.triggered = -1
            self.conversions += 1
            self._wait(max(CONVERSION_S[part.resolution] for part in parts))
            for part in parts:
                if not part.lingers:
                    part.convert()
                part.triggered = 1

    def let_everything_go(self) -> None:
        self.hung.clear()
        for part in list(self.parts.values()):
            part.let_go.set()


def _millidegrees(got: bytes) -> int:
    """The driver's own arithmetic for a 12 bit part; C divides towards zero."""
    raw = int.from_bytes(got[:2], "little", signed=True)
    size = abs(raw) * 1000 // 16
    return -size if raw < 0 else size


@dataclass
class Kernel:
    """All masters of the emulated machine."""

    masters: dict[int, Master]

    def find(self, rom: str) -> tuple[Master, Part] | None:
        for master in list(self.masters.values()):
            if part := master.parts.get(rom):
                return master, part
        return None

    def need(self, rom: str) -> tuple[Master, Part]:
        found = self.find(rom)
        if found is None:
            raise KeyError(f"no probe {rom}")
        return found

    def plug(self, rom: str, master: int, temp_c: float, first: str = "") -> None:
        """Put a part on the bus. first: a fault that its first read shows (``power-on``, say)."""
        part = Part(rom, temp_c)
        if first:
            part.add_fault(Fault(first, times=1))
        self.masters[master].parts[rom] = part

    def unplug(self, rom: str, lingers: bool) -> None:
        """Pull a part. The kernel may go on listing it for a while: then reads find a line left high."""
        master, part = self.need(rom)
        if lingers:
            part.lingers = True
        else:
            del master.parts[rom]
        part.let_go.set()
