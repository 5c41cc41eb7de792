"""How the watch itself is doing, for programs that collect such figures (Prometheus text format 0.0.4)."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import func, select

from service.actions.desk import Desk
from service.record.outbox import WAITING
from service.record.tables import fault, message

CONTENT_TYPE = "text/plain; version=0.0.4; charset=utf-8"

Labels = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Metric:
    """One figure: its name, whether it only grows, what it says, and its values by labels."""

    name: str
    kind: str
    help: str
    values: Sequence[tuple[Labels, float]]


def metrics(desk: Desk) -> list[Metric]:
    """Every figure as it is now."""
    health = desk.watch.health()
    now = desk.now()
    ages = []
    for probe_id in sorted(desk.watch.house.probes):
        sight = desk.watch.sight(probe_id, now)
        if sight is not None and sight.at is not None:
            ages.append(({"probe": probe_id}, max(0.0, (now - sight.at).total_seconds())))
    with desk.record.reading() as connection:
        faults = [
            ({"probe": probe_id, "kind": kind}, float(count))
            for probe_id, kind, count in connection.execute(
                select(fault.c.probe_id, fault.c.kind, func.sum(fault.c.count))
                .group_by(fault.c.probe_id, fault.c.kind)
                .order_by(fault.c.probe_id, fault.c.kind)
            )
        ]
        waiting = connection.execute(
            select(func.count()).select_from(message).where(message.c.state == WAITING)
        ).scalar_one()
    writer = health["writer"]
    return [
        one("ready", "gauge", "1 when the watch goes round and the record can be written.", health["ready"]),
        one("rounds_total", "counter", "Looks at all probes since the start.", health["rounds"]),
        one("failed_rounds_total", "counter", "Looks that failed since the start.", health["failed_rounds"]),
        one("commits_total", "counter", "Transactions that were committed.", desk.record.writer.commits),
        one("writer_failures_total", "counter", "Pieces of work that failed.", writer["failures"]),
        one("writer_waiting", "gauge", "Pieces of work that wait for the writer.", writer["waiting"]),
        one("writer_slowest_seconds", "gauge", "The slowest write so far.", writer["slowest_ms"] / 1000),
        one("messages_waiting", "gauge", "Messages that have not left yet.", int(waiting)),
        one("open_pages", "gauge", "Pages that listen to events now.", health["open_pages"]),
        Metric("sample_age_seconds", "gauge", "Age of each probe's newest believed sample.", ages),
        Metric("faults_total", "counter", "Values that were not believed, by probe and kind.", faults),
    ]


def one(name: str, kind: str, words: str, value: float) -> Metric:
    """A figure without labels."""
    return Metric(name, kind, words, [({}, float(value))])


def as_text(found: Iterable[Metric]) -> str:
    """The exposition format: HELP, TYPE and a line for each value."""
    lines = []
    for metric in found:
        name = f"gylewatch_{metric.name}"
        lines += [f"# HELP {name} {metric.help}", f"# TYPE {name} {metric.kind}"]
        for labels, value in metric.values:
            shown = ",".join(f'{key}="{_escaped(text)}"' for key, text in labels.items())
            lines.append(f"{name}{{{shown}}} {value:.10g}" if shown else f"{name} {value:.10g}")
    return "\n".join(lines) + "\n"


def _escaped(text: str) -> str:
    return text.replace("\\", r"\\").replace("\n", r"\n").replace('"', r"\"")
