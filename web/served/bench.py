"""A batch's record on the running service: what was written down, the readiness, the sugar."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from service.actions import batches, bench, entries
from service.actions.desk import Desk
from service.actions.entry_asks import ASKS
from web.bench import CHECKS, LISTS, SIGHTS, BenchView, CheckView, EntryView, ReadinessView
from web.served.asked import asked
from web.served.brews import on_the_stove
from web.words import capital, number

SEEN = dict(SIGHTS)


class BenchPart:
    """What the record of a batch asks."""

    _desk: Desk

    def bench(self, batch_id: str) -> BenchView:
        """What was written down, and the readiness where it makes sense to ask."""
        one, _ = batches.one_batch(self._desk, batch_id)
        found = {
            name: tuple(entry_view(name, e) for e in entries.every_entry(self._desk, batch_id, name))
            for name in LISTS
        }
        asks = one.pitched_at is not None and one.ended_at is None and not on_the_stove(one)
        return BenchView(_readiness(bench.readiness_of(self._desk, batch_id, None)) if asks else None, found)

    def write_down(self, batch_id: str, name: str, by: str, fields: Mapping[str, Any]) -> None:  # noqa: ARG002
        """Add an entry."""
        entries.write_down(self._desk, batch_id, name, asked(ASKS[name], fields))

    def strike_out(self, batch_id: str, name: str, n: int, by: str) -> None:  # noqa: ARG002
        """Take an entry out."""
        entries.strike_out(self._desk, batch_id, name, n)

    def prime(self, batch_id: str, fields: Mapping[str, Any]) -> Mapping[str, Any]:
        """The priming with what the batch knows filled in."""
        return bench.prime_batch(self._desk, batch_id, fields)


def _readiness(found: Mapping[str, Any]) -> ReadinessView:
    return ReadinessView(
        ready=found["ready"],
        checks=tuple(
            CheckView(CHECKS.get(c["name"], capital(c["name"].replace("-", " "))), c["met"], c["evidence"])
            for c in found["checks"]
        ),
        next_words=found["next"]["do"],
        next_at=datetime.fromisoformat(found["next"]["at"]),
        cautions=tuple(found["cautions"]),
    )


def entry_view(name: str, found: Mapping[str, Any]) -> EntryView:
    """An entry of a list as pages show it."""
    words = {"readings": _reading, "sightings": _sighting, "additions": _addition, "notes": _note}[name]
    return EntryView(
        n=found["n"],
        at=datetime.fromisoformat(found["at"]),
        words=words(found),
        gravity=found.get("corrected_sg"),
        low=found.get("low"),
        high=found.get("high"),
    )


def _reading(found: Mapping[str, Any]) -> str:
    how = {"limit-jar": "Limit jar", "weight": "Weight"}.get(found["by"], capital(found["by"]))
    if found["kg"] is not None:
        return f"{how}: {number(found['kg'], 3)} kg"
    if found["brix"] is not None:
        return f"{how}: {number(found['brix'])} Brix"
    read = f"{number(found['sg'], 4)} SG" if found["sg"] is not None else f"{number(found['plato'])} Plato"
    fizzy = "" if found["degassed"] else ", not degassed"
    return f"{how}: {read} at {number(found['sample_c'])} C{fizzy}"


def _sighting(found: Mapping[str, Any]) -> str:
    return SEEN.get(found["what"], str(found["what"]))


def _addition(found: Mapping[str, Any]) -> str:
    water = f" and {found['water_l']:g} l of water" if found["water_l"] else ""
    return f"{found['what']}: {found['mass_g']:g} g{water}"


def _note(found: Mapping[str, Any]) -> str:
    return str(found["text"])
