"""A DS18B20 as its datasheet describes it: a scratchpad of nine bytes that a conversion fills.

It shares no code with the program under test, so that a mistake there cannot cancel out here.
"""

import threading
import time
from dataclasses import dataclass, field

CONVERSION_S = {9: 0.09375, 10: 0.1875, 11: 0.375, 12: 0.75}
"""Longest conversion time by resolution, in seconds (DS18B20 datasheet, table 2)."""

POWER_ON_RAW = 0x0550
POWER_ON_RESERVED = 0x0C


def crc8(data: bytes) -> int:
    """CRC-8 with polynomial X^8+X^5+X^4+1, bit by bit, least significant bit first."""
    crc = 0
    for byte in data:
        for bit in range(8):
            mix = (crc ^ (byte >> bit)) & 1
            crc >>= 1
            if mix:
                crc ^= 0x8C
    return crc


def scratchpad(raw: int, resolution: int = 12, reserved: int | None = None) -> bytes:
    """The nine bytes for a raw count of 1/16 C.

    reserved is byte 6; unless given it is 10h less the count's last four bits, as genuine parts show it.
    """
    sixth = 0x10 - (raw & 0x0F) if reserved is None else reserved
    eight = bytes(
        [raw & 0xFF, (raw >> 8) & 0xFF, 0x4B, 0x46, ((resolution - 9) << 5) | 0x1F, 0xFF, sixth, 0x10]
    )
    return eight + bytes([crc8(eight)])


def count(temp_c: float, resolution: int = 12) -> int:
    """The raw count a part of this resolution would show (its unused low bits are zero)."""
    unused = 12 - resolution
    return (round(temp_c * 16) >> unused) << unused


@dataclass
class Fault:
    """One way to misbehave. times: how many more reads it lasts, None until it is cleared."""

    name: str
    times: int | None = None
    value: float = 0.0


@dataclass
class Part:
    """One part on the wire, and what the kernel remembers of it."""

    rom: str
    temp_c: float = 20.0
    resolution: int = 12
    drift_c_per_s: float = 0.0
    lingers: bool = False
    memory: bytes = b""
    last_good: bytes = bytes(9)
    triggered: int = 0
    faults: dict[str, Fault] = field(default_factory=dict)
    let_go: threading.Event = field(default_factory=threading.Event)
    set_at: float = field(default_factory=time.monotonic)

    def __post_init__(self) -> None:
        self.power_on()

    def power_on(self) -> None:
        """What the scratchpad holds when the supply comes up, before any conversion."""
        self.memory = scratchpad(POWER_ON_RAW, self.resolution, POWER_ON_RESERVED)

    def now_c(self) -> float:
        return self.temp_c + self.drift_c_per_s * (time.monotonic() - self.set_at)

    def set_temperature(self, temp_c: float, drift_c_per_s: float) -> None:
        self.temp_c, self.drift_c_per_s, self.set_at = temp_c, drift_c_per_s, time.monotonic()

    def add_fault(self, fault: Fault) -> None:
        self.let_go.clear()
        self.faults[fault.name] = fault

    def clear_faults(self) -> None:
        self.faults.clear()
        self.let_go.set()

    def take(self, name: str) -> Fault | None:
        """The fault, if it is on now; this read uses one of its times up."""
        fault = self.faults.get(name)
        if fault is None or fault.times is None:
            return fault
        fault.times -= 1
        if fault.times <= 0:
            del self.faults[name]
        return fault

    def convert(self) -> None:
        """Measure: fill the scratchpad from the temperature, or from a fault of the part itself."""
        if "frozen" in self.faults:
            return
        if self.take("power-on"):
            self.power_on()
        elif self.take("power-on-7ff"):
            self.memory = scratchpad(0x07FF, self.resolution, POWER_ON_RESERVED)
        elif self.take("disconnected"):
            self.memory = scratchpad(-127 * 16, self.resolution)
        elif self.take("too-hot"):
            self.memory = scratchpad(0x07FE, self.resolution)
        else:
            jump = self.take("jump")
            raw = count(self.now_c() + (jump.value if jump else 0.0), self.resolution)
            self.memory = scratchpad(raw, self.resolution)

    def on_the_wire(self) -> bytes:
        """What a read of the scratchpad brings; a part that is gone leaves the line high."""
        if self.lingers:
            return b"\xff" * 9
        return bytes(9) if "zeros" in self.faults else self.memory
