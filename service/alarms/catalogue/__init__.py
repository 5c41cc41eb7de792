"""Every type of alarm there is, one entry each: `CATALOGUE`, and the same as a page of documentation."""

from collections.abc import Mapping
from types import MappingProxyType

from service.alarms.catalogue.batch import BATCH
from service.alarms.catalogue.documentation import document
from service.alarms.catalogue.entry import AlarmType, Words
from service.alarms.catalogue.itself import ITSELF
from service.alarms.catalogue.probes import PROBES
from service.alarms.catalogue.temperatures import TEMPERATURES

__all__ = ["CATALOGUE", "AlarmType", "Words", "documentation"]

CATALOGUE: Mapping[str, AlarmType] = MappingProxyType(
    {entry.key: entry for entry in (*TEMPERATURES, *PROBES, *BATCH, *ITSELF)}
)
"""All alarm types by key, in the order they are documented."""


def documentation() -> str:
    """The catalogue as Markdown."""
    return document(CATALOGUE.values())
