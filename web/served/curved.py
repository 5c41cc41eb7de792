"""The measured curves of a batch in the shape that its chart takes."""

from datetime import datetime, timedelta

from service.actions.answers import BatchAnswer
from service.actions.desk import Desk
from service.actions.series import series
from web.chart import BandPart, Curves, Line, Stretch

LEAST = timedelta(minutes=30)


def curves_of(
    desk: Desk, one: BatchAnswer, begins: datetime | None, ends: datetime | None, points: int
) -> Curves:
    """What was measured between two times; the whole batch unless said. InvalidInputError."""
    begins = begins or one.started_at
    ends = ends or max(begins + LEAST, one.ended_at or desk.now())
    found = series(desk, one.id, begins, ends, points)
    first = datetime.fromisoformat(found.probes[0].t[0]) if found.probes and found.probes[0].t else begins
    return Curves(
        begins=first,
        step_s=int(found.bucket_s),
        count=len(found.probes[0].t) if found.probes else 0,
        lines=[Line(p.probe_id, p.role, p.mean_c, p.min_c, p.max_c) for p in found.probes],
        band=[BandPart(b.from_, b.to, b.low_c, b.high_c) for b in found.band],
        gaps=[Stretch(g.from_, g.to) for g in found.gaps],
        strays=[Stretch(s.from_, s.to) for s in found.strays],
    )
