"""`gylewatch probes`: what is on the bus now, and what the service has noted, with faults explained."""

import json
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from typing import Any

from sensors.bus import Sweep, SweptSource
from sensors.faults import sentence_for
from sensors.sample import ProbeFault
from sensors.scratchpad import resolution
from sensors.screening import Believed, Screen
from service.errors import GylewatchError
from service.probe_record import Noted, said, since


class NothingOnTheBusError(GylewatchError):
    """There is no bus, or no probe on it."""


def look(source: SweptSource) -> dict[str, Any]:
    """One sweep, screened: each probe with its temperature or its fault explained."""
    at = datetime.now(UTC)
    sweep: Sweep = source.sweep(at)
    believed, faults = Screen().sift(sweep, at)
    found: list[Believed | ProbeFault] = [*believed, *faults]
    return {
        "trouble": sweep.trouble,
        "notes": list(sweep.notes),
        "sweep_s": round(sweep.took_s, 3),
        "probes": sorted((_one(seen) for seen in found), key=lambda probe: str(probe["id"])),
    }


def _unheard(one: Noted) -> str:
    return f"{one.label} comes over MQTT, but no broker is set: set GYLEWATCH_MQTT_URL."


def _one(seen: Believed | ProbeFault) -> dict[str, Any]:
    if isinstance(seen, ProbeFault):
        return {
            "id": seen.probe_id,
            "temp_c": None,
            "read_ms": None,
            "bits": None,
            "fault": seen.kind.value,
            "detail": seen.detail,
            "explained": sentence_for(seen.kind),
        }
    return {
        "id": seen.value.probe_id,
        "temp_c": seen.value.raw_c,
        "read_ms": round(seen.value.read_s * 1000, 1),
        "bits": None if seen.value.scratchpad is None else resolution(seen.value.scratchpad),
        "fault": None,
        "detail": "",
        "explained": "",
    }


def report(
    source: SweptSource,
    as_json: bool,
    say: Callable[[str], Any],
    noted: Sequence[Noted] = (),
    trouble: str = "",
    broker: bool = True,
) -> None:
    """Say what is on the bus, and what the service has noted. NothingOnTheBusError: nothing is there.

    noted: what the record knows. trouble: why it could not be read. broker: whether one is set for MQTT.
    """
    found = look(source)
    at = datetime.now(UTC)
    found["notes"] += [trouble] if trouble else []
    found["notes"] += [] if broker else [_unheard(one) for one in noted if one.source == "mqtt"]
    if as_json:
        counted_from = since(at).isoformat().replace("+00:00", "Z")
        service = {"since": counted_from, "probes": [one.as_json() for one in noted]}
        say(json.dumps({**found, "service": service}, indent=2))
        return
    for probe in found["probes"]:
        if probe["fault"] is None:
            bits = "" if probe["bits"] is None else f", {probe['bits']} bits"
            say(f"{probe['id']}  {probe['temp_c']:7.2f} C   read in {probe['read_ms']:.0f} ms{bits}")
        else:
            say(f"{probe['id']}        -     {probe['fault']} ({probe['detail']})")
            say(f"    {probe['explained']}")
    if found["probes"]:
        say(f"{len(found['probes'])} on the bus; one sweep took {found['sweep_s']:.2f} s.")
    if noted:
        say(f"The service has noted, with faults since {since(at):%H:%M} UTC:")
    for one in noted:
        for line in said(one):
            say(line)
    for note in found["notes"]:
        say(f"Note: {note}")
    if found["trouble"]:
        raise NothingOnTheBusError(found["trouble"])
