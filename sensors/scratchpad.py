"""The nine bytes of a DS18B20 and its kin, and the text in which Linux's w1_therm driver shows them.

Sources: DS18B20 datasheet (temperature register, configuration register, CRC), and for the text and the
arithmetic of the other families the published source of the w1_therm driver, Linux 6.1.
"""

import re
from dataclasses import dataclass

from sensors.sample import FaultKind

SIZE = 9

FAMILIES = ("28", "10", "22", "3b", "42")
"""Family codes of the thermometers that can be read: DS18B20, DS18S20, DS1822, DS1825, DS28EA00."""

_HALF_DEGREE_FAMILY = "10"

_POWER_ON = ((0x0550, 0x0C), (0x07FF, 0x0C))
"""Count and byte 6 of a part that has not converted since its supply came up (w1_therm driver)."""

_DRIVER_TEXT = re.compile(
    rb"((?:[0-9a-f]{2} ){9}): crc=([0-9a-f]{2}) (YES|NO)\n((?:[0-9a-f]{2} ){9})t=(-?[0-9]{1,7})\n"
)


@dataclass(frozen=True, slots=True)
class Reading:
    """A value with its bytes, well formed but not yet believed. raw_c in degrees Celsius."""

    raw_c: float
    scratchpad: bytes


@dataclass(frozen=True, slots=True)
class Unusable:
    """Text that holds no value: the kind of fault, and what was found."""

    kind: FaultKind
    detail: str


def crc8(data: bytes) -> int:
    """CRC-8, X^8+X^5+X^4+1, initial 0, least significant bit first (Maxim application note 27)."""
    crc = 0
    for byte in data:
        crc ^= byte
        for _ in range(8):
            crc = (crc >> 1) ^ 0x8C if crc & 1 else crc >> 1
    return crc


def is_intact(scratchpad: bytes) -> bool:
    """Nine bytes with a right CRC. Nine zero bytes are intact too: a dead bus must be told by rule."""
    return len(scratchpad) == SIZE and crc8(scratchpad[:8]) == scratchpad[8]


def is_zeros(scratchpad: bytes) -> bool:
    """Nothing but zero bytes: a data line held low, whose CRC is right by accident."""
    return not any(scratchpad)


def is_power_on(scratchpad: bytes) -> bool:
    """The pattern of a part that has not measured yet. A true 85 C has another byte 6 (10h)."""
    return (int.from_bytes(scratchpad[:2], "little"), scratchpad[6]) in _POWER_ON


def resolution(scratchpad: bytes) -> int:
    """Bits of resolution, 9 to 12, from the configuration register; reading it costs nothing more."""
    return ((scratchpad[4] >> 5) & 3) + 9


def is_finer(scratchpad: bytes) -> bool:
    """Whether the top bit of byte 4 is set, which a DS18B20 never does: a copy that keeps two more bits of
    the temperature there, a thermocouple amplifier, or a DS18S20, which has no configuration register."""
    return bool(scratchpad[4] & 0x80)


def temperature_c(scratchpad: bytes, family: str = "28") -> float:
    """Degrees Celsius from nine bytes. family: the first two characters of the ROM id."""
    if family == _HALF_DEGREE_FAMILY:
        return _half_degree_c(scratchpad)
    count = int.from_bytes(scratchpad[:2], "little", signed=True)
    if is_finer(scratchpad) and family == "3b":
        return (count & ~3) / 16
    if is_finer(scratchpad):
        fine = ((count << 2) & 0xFFFF) | (scratchpad[4] & 3)
        return (fine - 0x10000 if fine & 0x8000 else fine) / 64
    return count / 16


def _half_degree_c(scratchpad: bytes) -> float:
    """A DS18S20 shows half degrees; bytes 6 and 7 refine them (DS18S20 datasheet, count remain)."""
    per_degree = scratchpad[7]
    if per_degree == 0:
        return 0.0
    whole = int.from_bytes(scratchpad[:2], "little", signed=True) >> 1
    return whole - 0.25 + (per_degree - scratchpad[6]) / per_degree


def read_text(text: bytes, family: str = "28") -> Reading | Unusable:
    """The value in what ``w1_slave`` gave, or why there is none. Never raises, whatever the bytes.

    Every number in the text must agree with every other: the printed CRC with the bytes, the second
    line's bytes with the first's, the printed temperature with the bytes. A digit lost anywhere shows.
    """
    if not text.strip():
        return Unusable(FaultKind.EMPTY, "the file was empty")
    found = _DRIVER_TEXT.fullmatch(text)
    if found is None:
        return _malformed(text)
    first, shown_crc, verdict, second, shown = found.groups()
    scratchpad = bytes.fromhex(first.decode("ascii"))
    if scratchpad == b"\xff" * SIZE:
        return Unusable(FaultKind.LINGERS, "the data line stayed high: no part answered")
    if verdict == b"NO" or not is_intact(scratchpad):
        return Unusable(FaultKind.CRC, f"the checksum of {scratchpad.hex(' ')} is wrong")
    if int(shown_crc, 16) != scratchpad[8]:
        return Unusable(FaultKind.CONTRADICTS, "the printed checksum is not the one in the bytes")
    if second != first:
        return Unusable(FaultKind.CONTRADICTS, "the two lines show different bytes")
    shown_c = int(shown) / 1000
    raw_c = temperature_c(scratchpad, family)
    if not agrees(raw_c, shown_c, family):
        return Unusable(FaultKind.CONTRADICTS, f"the bytes say {raw_c:.3f} C, the text {shown_c:.3f} C")
    return Reading(raw_c, scratchpad)


def agrees(from_bytes_c: float, shown_c: float, family: str = "28") -> bool:
    """Whether two ways to say one value agree: the driver drops what is below a thousandth.

    A thermocouple amplifier (family 3b) has spare bits below a quarter degree, and the driver's whole
    numbers cost a DS18S20 a little more.
    """
    allowed = {"3b": 0.26, _HALF_DEGREE_FAMILY: 0.0021}.get(family, 0.0011)
    return abs(from_bytes_c - shown_c) <= allowed


def _malformed(text: bytes) -> Unusable:
    lines = text.count(b"\n")
    if b" NO\n" in text[:48]:
        return Unusable(FaultKind.CRC, "the driver says the checksum is wrong")
    if lines < 2:
        return Unusable(FaultKind.CUT_SHORT, f"{lines} whole lines of 2, {len(text)} bytes")
    return Unusable(FaultKind.UNREADABLE, f"not the driver's form: {text[:80]!r}")
