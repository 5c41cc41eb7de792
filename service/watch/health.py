"""Whether the watch goes round and the record can be written."""

from service.record.database import Record
from service.watch.committing import COMMIT_EVERY_S


def missing(record: Record, rounds: int, since_commit_s: float, sweep_s: float, failure: str) -> list[str]:
    """What is missing for the watch to be ready, in words; nothing when all is well.

    since_commit_s: seconds since anything was committed. failure: how the last failed round failed.
    """
    found = []
    if rounds == 0:
        found.append("the first round is not over")
    elif since_commit_s > max(3 * COMMIT_EVERY_S, 3 * sweep_s):
        why = record.writer.health().last_failure or failure
        found.append(f"nothing was committed for {since_commit_s:.0f} s" + (f" ({why})" if why else ""))
    if record.gone():
        found.append(f"the record {record.where} is gone from its folder")
    return found
