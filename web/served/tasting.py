"""The last part of a batch, on the running service."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from service.actions import tasting
from service.actions.batches import one_batch
from service.actions.conditioning import conditioning_of
from service.actions.desk import Desk
from service.actions.entries import every_entry, strike_out, write_down
from service.actions.entry_asks import ASKS
from service.actions.tasting_answers import FaultAnswer
from service.errors import ConflictError, InvalidInputError
from web.served.asked import asked
from web.tasting import CauseView, FaultView, TastedLine, TastingView, fault_words
from web.words import Taste


class TastingPart:
    """What the page of the last part asks."""

    _desk: Desk

    def taste(self) -> Taste:
        """How this brewer wants values written."""
        raise NotImplementedError

    def tasting(self, batch_id: str) -> TastingView:
        """What was squeezed, opened and tasted, and what could explain it."""
        one, _ = one_batch(self._desk, batch_id)
        found = tasting.faults_of(self._desk, batch_id)
        across = {each.fault: each.sentence for each in tasting.faults_across(self._desk)} if found else {}
        try:
            bottles = conditioning_of(self._desk, batch_id).sentence
        except (ConflictError, InvalidInputError):
            bottles = ""
        taste = self.taste()
        return TastingView(
            id=one.id,
            name=one.name,
            squeezes=[_line(e, "Firm" if e["firm"] else "Soft") for e in self._told(batch_id, "squeezes")],
            openings=[
                _line(e, f"{taste.gravity_words(e['corrected_sg'])}. {e['says'] or ''}".rstrip())
                for e in self._told(batch_id, "openings")
            ],
            tastings=[_line(e, _tasted(e)) for e in self._told(batch_id, "tastings")],
            faults=[_fault(each, across.get(each.fault, "")) for each in found],
            bottles=bottles,
        )

    def write_tasting(self, batch_id: str, name: str, by: str, fields: Mapping[str, Any]) -> None:  # noqa: ARG002
        """Keep an entry."""
        write_down(self._desk, batch_id, name, asked(ASKS[name], fields))

    def strike_tasting(self, batch_id: str, name: str, n: int, by: str) -> None:  # noqa: ARG002
        """Take an entry out."""
        strike_out(self._desk, batch_id, name, n)

    def _told(self, batch_id: str, name: str) -> list[dict[str, Any]]:
        return every_entry(self._desk, batch_id, name)


def _line(entry: Mapping[str, Any], words: str) -> TastedLine:
    cautions = tuple(entry.get("cautions") or ())
    return TastedLine(entry["n"], datetime.fromisoformat(entry["at"]), words, cautions)


def _tasted(entry: Mapping[str, Any]) -> str:
    named = ", ".join(fault_words(str(fault)) for fault in entry["faults"] or ())
    words = entry["words"] or ""
    return f"{named}. {words}".strip() if named else words


def _fault(found: FaultAnswer, across: str) -> FaultView:
    return FaultView(
        name=fault_words(found.fault.value),
        sentence=found.sentence,
        causes=tuple(
            CauseView(c.likelihood, c.sentence, tuple((h.from_, h.to) for h in c.hours)) for c in found.causes
        ),
        unseen=found.unseen,
        source=found.source,
        across=across,
    )
