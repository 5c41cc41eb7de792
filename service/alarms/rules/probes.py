"""Probes that are silent, fail, stand still or have come off."""

from collections.abc import Mapping
from datetime import datetime

from service.alarms.model import Finding, Presence
from service.alarms.rules.about import About, found, of_probe, unknown
from service.alarms.words import span

SILENT_INTERVALS = 3
SILENT_LEAST_S = 30.0
FAULT_SHARE = 0.10
FAULT_CLEAR_SHARE = 0.05
FAULT_LEAST = 10
FROZEN_S = 6 * 3600.0
"""At 0.0625 C a step even a lagged fermenter moves by a step within hours (our own starting point)."""


def silent_limit_s(interval_s: float) -> float:
    """After how many seconds without a believed value a probe counts as silent."""
    return max(SILENT_INTERVALS * interval_s, SILENT_LEAST_S)


def no_reading(
    about: About,
    silent_s: float | None,
    interval_s: float,
    last_at: datetime | None = None,
    last_c: float | None = None,
) -> Finding:
    """no-reading: nothing believed for three intervals, and at least 30 s.

    silent_s: by the monotonic clock, since the last believed value or since the watch began to wait for
    one; None: not waited for. last_at, last_c: the last value that was believed, for the words.
    """
    subject = of_probe("no-reading", about)
    if silent_s is None:
        return unknown(subject, about, "not waited for yet")
    if silent_s < silent_limit_s(interval_s):
        return found(subject, about, Presence.ABSENT, "readings arrive")
    words = f"nothing believed for {span(silent_s)}"
    if last_at is not None and last_c is not None:
        words = f"nothing since {about.clock(last_at)}, when it was {about.degrees(last_c)}"
    numbers: dict[str, float | str] = {"silent_s": round(silent_s), "limit_s": silent_limit_s(interval_s)}
    if last_c is not None:
        numbers["last_c"] = last_c
    return found(subject, about, Presence.PRESENT, words, numbers)


def probe_fault(about: About, looks: int | None, faults: Mapping[str, int]) -> Finding:
    """probe-fault: more than a tenth of the looks of the last hour were faults, and at least ten.

    looks: how many values were asked for in the last hour, None when not known; faults: counts by kind.
    """
    subject = of_probe("probe-fault", about)
    if not looks:
        return unknown(subject, about, "nothing was asked of the probe in the last hour")
    count = sum(faults.values())
    share = count / looks
    numbers: dict[str, float | str] = {"faults": count, "looks": looks}
    if share > FAULT_SHARE and count >= FAULT_LEAST:
        kinds = ", ".join(
            f"{kind} {n}" for kind, n in sorted(faults.items(), key=lambda f: (-f[1], f[0])) if n
        )
        words = f"{count} of {looks} readings in the last hour were faults: {kinds}"
        return found(subject, about, Presence.PRESENT, words, numbers)
    presence = Presence.NEAR if share > FAULT_CLEAR_SHARE and count >= FAULT_LEAST else Presence.ABSENT
    return found(subject, about, presence, f"{count} of {looks} readings were faults", numbers)


def probe_frozen(
    about: About, same_for_s: float | None, value_c: float | None, limit_s: float = FROZEN_S
) -> Finding:
    """probe-frozen: exactly the same raw value for unnaturally long."""
    subject = of_probe("probe-frozen", about)
    if same_for_s is None or value_c is None:
        return unknown(subject, about, "no reading")
    numbers = {"same_for_s": same_for_s, "now_c": value_c, "limit_s": limit_s}
    if same_for_s >= limit_s:
        words = f"exactly {about.degrees(value_c)} for {span(same_for_s)}"
        return found(subject, about, Presence.PRESENT, words, numbers)
    return found(subject, about, Presence.ABSENT, "the value moves", numbers)


def probe_adrift(about: About, adrift: bool | None, temp_c: float | None, room_c: float | None) -> Finding:
    """probe-adrift: the liquid probe follows the room. adrift: by the thermal model; None is not known."""
    subject = of_probe("probe-adrift", about)
    if adrift is None:
        return unknown(subject, about, "not known whether the probe sits where it should")
    if not adrift:
        return found(subject, about, Presence.ABSENT, "the probe follows the vessel")
    numbers: dict[str, float | str] = {}
    words = "it follows the room since " + about.began()
    if temp_c is not None and room_c is not None:
        numbers = {"now_c": temp_c, "room_c": room_c}
        words += f": it reads {about.degrees(temp_c)}, the room {about.degrees(room_c)}"
    return found(subject, about, Presence.PRESENT, words, numbers)
