"""What a read brings while a fault acts. Bytes are those a DS18B20 would hold or a broken wire would give."""

from collections.abc import Callable
from datetime import datetime, timedelta

from sensors.bus import RawValue
from sensors.sample import FaultKind, ProbeFault, ProbeId
from sensors.simulated.faults import Fault, Spell
from sensors.simulated.probe import CONVERSION_S, STEPS_PER_C, register_of, scratchpad_of

SLOW_READ_S = 6 * CONVERSION_S
"""What a slow read takes here."""

ABANDONED_AFTER_S = 5.0
"""When a read that never returns is given up here."""

POWER_ON_SCRATCHPAD = bytes.fromhex("50054B467FFF0C101C")
"""85 C with byte 6 = 0Ch: a part that has not converted yet (DS18B20 datasheet; the CRC is computed)."""

DISCONNECTED_C = -127.0
"""What Linux's w1 readers give for a part that is not there."""

_BEYOND_THE_PART_C = 130.0
"""The part's range ends at 125 C (DS18B20 datasheet)."""

_FROM_THE_SOURCE = {
    FaultKind.EMPTY: "the file was empty",
    FaultKind.CUT_SHORT: "1 whole lines of 2, 39 bytes",
    FaultKind.LINGERS: "listed, and no answer to its id",
    FaultKind.UNREADABLE: "the read failed",
}
"""Faults that no value can show: a source must notice them itself."""


def read_during(
    spell: Spell, probe: ProbeId, at: datetime, register_at: Callable[[datetime], int]
) -> RawValue | ProbeFault | None:
    """What a read of a probe at a time brings; None when the probe is not on the bus.

    register_at: what the part would hold at a time if nothing were wrong.
    """
    fault = spell.fault
    match fault.kind:
        case FaultKind.EMPTY | FaultKind.CUT_SHORT | FaultKind.LINGERS | FaultKind.UNREADABLE as kind:
            return ProbeFault(probe, at, kind, _FROM_THE_SOURCE[kind])
        case FaultKind.NO_ANSWER as kind:
            return ProbeFault(probe, at, kind, f"given up after {ABANDONED_AFTER_S:g} s")
        case FaultKind.VANISHED:
            return None
        case FaultKind.FIRST_VALUE:
            if at < spell.since + timedelta(seconds=fault.lasts_s):
                return None
            return _value(probe, at, _off_by(register_at(at), fault))
        case FaultKind.POWER_ON:
            return RawValue(probe, at, 85.0, CONVERSION_S, POWER_ON_SCRATCHPAD)
        case FaultKind.ZEROS | FaultKind.WHOLE_BUS:
            return RawValue(probe, at, 0.0, CONVERSION_S, bytes(9))
        case FaultKind.DISCONNECTED:
            return RawValue(probe, at, DISCONNECTED_C, CONVERSION_S)
        case FaultKind.OUT_OF_RANGE:
            return _value(probe, at, register_of(_BEYOND_THE_PART_C))
        case FaultKind.JUMP:
            return _value(probe, at, _off_by(register_at(at), fault))
        case FaultKind.FROZEN:
            return _value(probe, at, register_at(spell.since))
        case FaultKind.SLOW:
            return _value(probe, at, register_at(at), SLOW_READ_S)
        case FaultKind.CRC:
            return _damaged(probe, at, register_at(at))
        case FaultKind.CONTRADICTS:
            told = _value(probe, at, register_at(at))
            return RawValue(probe, at, told.raw_c + fault.by_c, CONVERSION_S, told.scratchpad)


def read_s_of(result: RawValue | ProbeFault) -> float:
    """How long a read took, in seconds."""
    if isinstance(result, RawValue):
        return result.read_s
    return ABANDONED_AFTER_S if result.kind is FaultKind.NO_ANSWER else CONVERSION_S


def _off_by(register: int, fault: Fault) -> int:
    """The register moved by the fault's degrees; the other way where that would leave the part's range."""
    moved = register + register_of(fault.by_c)
    if -55 * STEPS_PER_C <= moved <= 125 * STEPS_PER_C:
        return moved
    return register - register_of(fault.by_c)


def _value(probe: ProbeId, at: datetime, register: int, read_s: float = CONVERSION_S) -> RawValue:
    return RawValue(probe, at, register / STEPS_PER_C, read_s, scratchpad_of(register))


def _damaged(probe: ProbeId, at: datetime, register: int) -> RawValue:
    """One bit of the temperature flipped on the wire: the value is wrong by 8 C, and the CRC shows it."""
    right = scratchpad_of(register)
    bits = bytes((right[0] ^ 0x80,)) + right[1:]
    wrong_c = int.from_bytes(bits[:2], "little", signed=True) / STEPS_PER_C
    return RawValue(probe, at, wrong_c, CONVERSION_S, bits)
