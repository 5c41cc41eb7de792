"""What each kind of fault means and what to do about it, in words a brewer can act on."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from sensors.sample import FaultKind


@dataclass(frozen=True, slots=True)
class Explanation:
    """sentence: what was seen and what it means. remedy: what to do. Both are whole sentences."""

    sentence: str
    remedy: str


EXPLANATIONS: Mapping[FaultKind, Explanation] = MappingProxyType(
    {
        FaultKind.CRC: Explanation(
            "The reading was damaged on its way: its checksum is wrong.",
            "Now and then is normal on a long cable. If it happens often, shorten the cable, keep it away "
            "from mains and motors, or fit a smaller resistor (2.2 kilohm) between data and 3.3 V.",
        ),
        FaultKind.POWER_ON: Explanation(
            "The probe gave the value it has before it measures (85 C): its supply failed for a moment.",
            "Check the red and black wires and their joints, and use all three wires.",
        ),
        FaultKind.ZEROS: Explanation(
            "The probe gave nothing but zeros: the data wire is held low.",
            "Look for a short circuit or water between the data wire and ground.",
        ),
        FaultKind.DISCONNECTED: Explanation(
            "The value was -127 C, which readers give for a probe that is not connected.",
            "Check the plug and the data wire.",
        ),
        FaultKind.EMPTY: Explanation(
            "The probe's file was empty: a measurement was under way, or nothing came.",
            "If it goes on, stop other programs that read the probes, then restart the machine.",
        ),
        FaultKind.CUT_SHORT: Explanation(
            "The reading was cut off before its end.",
            "Once is harmless. If it happens often, bring the system up to date, and check its power supply.",
        ),
        FaultKind.CONTRADICTS: Explanation(
            "The reading contradicts itself: its bytes and its temperature disagree.",
            "If it happens often, try the probe on a short cable, and replace it if that does not help.",
        ),
        FaultKind.VANISHED: Explanation(
            "The probe is no longer on the bus.",
            "Check that it is plugged in and that its three wires are whole.",
        ),
        FaultKind.LINGERS: Explanation(
            "The probe is still listed but no longer answers: it was pulled, or a wire is broken.",
            "Check that it is plugged in and that its three wires are whole.",
        ),
        FaultKind.FIRST_VALUE: Explanation(
            "The first value after the probe came back is never believed, since it can be an old one.",
            "Nothing, unless it happens often: then look for a loose plug.",
        ),
        FaultKind.OUT_OF_RANGE: Explanation(
            "The value is outside what the probe can measure (-55 to 125 C).",
            "Check the wires, and the sender if the value came over the network; else replace the probe.",
        ),
        FaultKind.JUMP: Explanation(
            "The value jumped further than a liquid can change in that time.",
            "If you moved the probe, wait for three readings that agree. If not, look for a loose plug.",
        ),
        FaultKind.FROZEN: Explanation(
            "The value has not moved for hours, to the last digit, while other probes did.",
            "Unplug the probe and plug it in again; if it freezes again, replace it.",
        ),
        FaultKind.SLOW: Explanation(
            "The reading took far longer than a measurement does.",
            "Stop other programs that read the probes; if it goes on, look for a bad joint.",
        ),
        FaultKind.NO_ANSWER: Explanation(
            "The system did not come back from reading the probe.",
            "Unplug the probe; if that does not help, restart the machine.",
        ),
        FaultKind.WHOLE_BUS: Explanation(
            "All probes on the bus failed at once: the cause is in what they share.",
            "Check the plug at the board, the resistor of 4.7 kilohm, and the joints for water. "
            "Unplug one probe after the other: the one that brings the rest back is short-circuited.",
        ),
        FaultKind.UNREADABLE: Explanation(
            "What came from the probe could not be read, or is no reading.",
            "Look at the detail. On the bus it may be a permission: else unplug the probe and restart the "
            "machine. Over the network look at what the sender sends.",
        ),
    }
)


def sentence_for(kind: FaultKind) -> str:
    """What was seen and what to do, as running text."""
    known = EXPLANATIONS[kind]
    return f"{known.sentence} {known.remedy}"
