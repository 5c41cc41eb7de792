"""The watch's own health."""

from service.alarms.model import Finding, Presence
from service.alarms.rules.about import About, found, of_other, unknown
from service.alarms.words import span

DOWN_LEAST_S = 300.0
DOWN_SWEEPS = 3
DISK_LOW_BYTES = 500_000_000
DISK_CLEAR_BYTES = 600_000_000
BACKUP_OLD_S = 3 * 86400.0
CHANNEL_STUCK_S = 3600.0


def was_down(
    about: About, down_s: float | None, sweep_s: float, *, seen: bool, meanwhile: str = ""
) -> Finding:
    """was-down: no commit for five minutes and three sweeps before this start.

    down_s: how long, None for a first start. It stands until somebody has seen it (seen: the alarm is
    acknowledged), however often the watch restarts. meanwhile: what the beer did, modelled, and marked so.
    """
    subject = of_other("was-down", about)
    if seen:
        return found(subject, about, Presence.ABSENT, "seen")
    if down_s is None or down_s < max(DOWN_LEAST_S, DOWN_SWEEPS * sweep_s):
        return unknown(subject, about, "the watch was not down")
    words = f"nobody watched for {span(down_s)}" + (f"; {meanwhile}" if meanwhile else "")
    return found(subject, about, Presence.PRESENT, words, {"down_s": round(down_s)})


def record_damaged(about: About, set_aside: str | None, *, seen: bool) -> Finding:
    """record-damaged: the database was set aside (under this name) at this start; stands until seen."""
    subject = of_other("record-damaged", about)
    if seen:
        return found(subject, about, Presence.ABSENT, "seen")
    if set_aside is None:
        return unknown(subject, about, "the record is whole")
    return found(subject, about, Presence.PRESENT, f"the damaged record is kept as {set_aside}")


def clock_untrusted(about: About, untrusted: bool | None, why: str) -> Finding:
    """clock-untrusted: by the clock rule, with its reason in words."""
    subject = of_other("clock-untrusted", about)
    if untrusted is None:
        return unknown(subject, about, "not known whether the clock is right")
    if untrusted:
        return found(subject, about, Presence.PRESENT, why)
    return found(subject, about, Presence.ABSENT, "the clock is right")


def disk_low(about: About, free_bytes: int | None) -> Finding:
    """disk-low: under 500 MB are free where the record lies."""
    subject = of_other("disk-low", about)
    if free_bytes is None:
        return unknown(subject, about, "not known how much room is left")
    words = f"{free_bytes / 1e6:,.0f} MB are free"
    numbers = {"free_bytes": free_bytes, "limit_bytes": DISK_LOW_BYTES}
    if free_bytes < DISK_LOW_BYTES:
        return found(subject, about, Presence.PRESENT, words, numbers)
    presence = Presence.NEAR if free_bytes < DISK_CLEAR_BYTES else Presence.ABSENT
    return found(subject, about, presence, words, numbers)


def backup_old(
    about: About, newest_age_s: float | None, kept_for_s: float | None, failure: str = ""
) -> Finding:
    """backup-old: none for three days, or the last one failed.

    newest_age_s: None when there is none; kept_for_s: how old the record itself is, None when not known.
    failure: why the last backup failed, empty when it did not.
    """
    subject = of_other("backup-old", about)
    if failure:
        return found(subject, about, Presence.PRESENT, f"the last backup failed: {failure}")
    age_s = kept_for_s if newest_age_s is None else newest_age_s
    if age_s is None:
        return unknown(subject, about, "nothing is known of backups")
    if age_s < BACKUP_OLD_S:
        return found(subject, about, Presence.ABSENT, "the newest backup is recent", {"age_s": round(age_s)})
    none = f"there is no backup after {span(age_s)}"
    words = none if newest_age_s is None else f"the newest backup is {span(age_s)} old"
    return found(subject, about, Presence.PRESENT, words, {"age_s": round(age_s)})


def channel_failing(about: About, stuck_s: float | None, far_end: str) -> Finding:
    """channel-failing: a message could not leave by the channel about.other for an hour.

    stuck_s: since the first failed attempt of the oldest message that waits, None when none waits.
    far_end: what the far end said last, masked.
    """
    subject = of_other("channel-failing", about)
    if stuck_s is None or stuck_s < CHANNEL_STUCK_S:
        return found(subject, about, Presence.ABSENT, "messages leave")
    words = f"nothing could leave for {span(stuck_s)}" + (f": {far_end}" if far_end else "")
    return found(subject, about, Presence.PRESENT, words, {"stuck_s": round(stuck_s)})
