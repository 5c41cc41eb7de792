"""A batch's record on the running service: what was written down, the readiness, the sugar."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from service.actions import batches, bench, entries
from service.actions.desk import Desk
from service.actions.entry_asks import ASKS
from service.errors import NotFoundError
from web.bench import CHECKS, LISTS, SIGHTS, BenchView, CheckView, EntryView, ReadinessView
from web.said import said
from web.served.asked import asked
from web.served.brews import on_the_stove
from web.words import Taste, capital, counted, listed, number

SEEN = dict(SIGHTS)
CELSIUS = Taste()


class BenchPart:
    """What the record of a batch asks."""

    _desk: Desk

    def taste(self) -> Taste:
        """How this brewer wants values written."""
        raise NotImplementedError

    def bench(self, batch_id: str) -> BenchView:
        """What was written down, and the readiness where it makes sense to ask."""
        one, _ = batches.one_batch(self._desk, batch_id)
        found = {
            name: tuple(
                entry_view(name, e, self.taste()) for e in entries.every_entry(self._desk, batch_id, name)
            )
            for name in LISTS
        }
        asks = one.pitched_at is not None and one.ended_at is None and not on_the_stove(one)
        readiness = bench.readiness_of(self._desk, batch_id, None) if asks else None
        return BenchView(None if readiness is None else _readiness(readiness, self.taste()), found)

    def write_down(self, batch_id: str, name: str, by: str, fields: Mapping[str, Any]) -> None:  # noqa: ARG002
        """Add an entry."""
        entries.write_down(self._desk, batch_id, name, asked(ASKS[name], fields))

    def entry(self, batch_id: str, name: str, n: int) -> Mapping[str, Any]:
        """One entry."""
        found = next((e for e in entries.every_entry(self._desk, batch_id, name) if e["n"] == n), None)
        if found is None:
            raise NotFoundError("There is no such entry; it may have been taken out.")
        return found

    def put_right(self, batch_id: str, name: str, n: int, by: str, fields: Mapping[str, Any]) -> None:  # noqa: ARG002
        """Replace what an entry holds."""
        whole = asked(ASKS[name], fields).model_dump(mode="json")
        at = {"at": whole.pop("at")} if whole["at"] is not None else {}
        entries.put_right(self._desk, batch_id, name, n, {**whole, **at})

    def strike_out(self, batch_id: str, name: str, n: int, by: str) -> None:  # noqa: ARG002
        """Take an entry out."""
        entries.strike_out(self._desk, batch_id, name, n)

    def prime(self, batch_id: str, fields: Mapping[str, Any]) -> Mapping[str, Any]:
        """The priming with what the batch knows filled in."""
        return bench.prime_batch(self._desk, batch_id, fields)


def _readiness(found: Mapping[str, Any], taste: Taste) -> ReadinessView:
    return ReadinessView(
        ready=found["ready"],
        checks=tuple(
            CheckView(
                CHECKS.get(c["name"], capital(c["name"].replace("-", " "))),
                c["met"],
                said(c["evidence"], taste),
            )
            for c in found["checks"]
        ),
        next_words=said(found["next"]["do"], taste),
        next_at=datetime.fromisoformat(found["next"]["at"]),
        cautions=tuple(said(words, taste) for words in found["cautions"]),
    )


def entry_view(name: str, found: Mapping[str, Any], taste: Taste = CELSIUS) -> EntryView:
    """An entry of a list as pages show it."""
    if name == "readings":
        words = _reading(found, taste)
    else:
        words = {
            "sightings": _sighting,
            "additions": _addition,
            "packagings": _packaging,
            "notes": _note,
        }[name](found)
    return EntryView(
        n=found["n"],
        at=datetime.fromisoformat(found["at"]),
        words=words,
        gravity=found.get("corrected_sg"),
        low=found.get("low"),
        high=found.get("high"),
    )


def _reading(found: Mapping[str, Any], taste: Taste) -> str:
    how = {"limit-jar": "Limit jar", "weight": "Weight"}.get(found["by"], capital(found["by"]))
    if found["kg"] is not None:
        return f"{how}: {number(found['kg'], 3)} kg"
    if found["brix"] is not None:
        return f"{how}: {number(found['brix'])} Brix"
    read = f"{number(found['sg'], 4)} SG" if found["sg"] is not None else f"{number(found['plato'])} Plato"
    fizzy = "" if found["degassed"] else ", not degassed"
    return f"{how}: {read} at {taste.temperature(found['sample_c'])}{fizzy}"


def _sighting(found: Mapping[str, Any]) -> str:
    return SEEN.get(found["what"], str(found["what"]))


def _addition(found: Mapping[str, Any]) -> str:
    water = f" and {found['water_l']:g} l of water" if found["water_l"] else ""
    return f"{found['what']}: {found['mass_g']:g} g{water}"


def _packaging(found: Mapping[str, Any]) -> str:
    packed = []
    for unit in found["units"]:
        what = counted(unit["count"], unit["kind"], f"{unit['kind']}s")
        of = f", {unit['material']}" if unit.get("material") else ""
        packed.append(f"{what} of {unit['size_l']:g} l{of}")
    sugar = f"; {found['sugar_g']:g} g of {found['sugar'].replace('-', ' ')}" if found["sugar_g"] else ""
    return f"{capital(listed(packed))}{sugar}"


def _note(found: Mapping[str, Any]) -> str:
    return str(found["text"])
