"""How the ways in which temperatures come are, in words: the bus, the broker, and one that is missing."""

from datetime import datetime

from service.actions.desk import Desk
from service.record.facts import Probe

NO_BROKER = (
    "It comes over MQTT, but no broker is set, so nothing can arrive. "
    "Set GYLEWATCH_MQTT_URL and start the program again."
)


def is_unheard(desk: Desk, probe: Probe) -> bool:
    """Whether a probe sends over MQTT while there is no broker to listen to."""
    return probe.source == "mqtt" and not desk.watch.sources.has("mqtt")


def bus_sentence(desk: Desk, now: datetime) -> str:
    """The last sweep of the bus, what is unusual about it, and how the broker is; whole sentences."""
    words = [_swept(desk, now)]
    troubles = desk.watch.sources.troubles()
    words += [text for text in troubles.values() if text != "well"]
    words += [note for notes in desk.watch.sources.notes().values() for note in notes]
    if troubles.get("mqtt") == "well":
        words.append("The MQTT broker is connected.")
    unheard = [probe.label for probe in desk.watch.house.probes.values() if is_unheard(desk, probe)]
    if unheard:
        words.append(
            f"No MQTT broker is set, so nothing can arrive from {', '.join(sorted(unheard))}: "
            "set GYLEWATCH_MQTT_URL and start the program again."
        )
    return " ".join(word for word in words if word)


def _swept(desk: Desk, now: datetime) -> str:
    last = desk.watch.sources.last_sweep("onewire")
    if last is None or not last.present:
        return ""
    many = "1 probe was" if last.present == 1 else f"{last.present} probes were"
    how = "" if desk.watch.sources.notes().get("onewire") else " by one conversion for all"
    ago_s = max((now - last.at).total_seconds(), 0.0)
    return f"{many} read in {last.took_s:.2f} s{how}, {ago_s:.0f} s ago."
