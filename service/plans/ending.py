"""Whether the end, the prompts and the priorities of a stage make sense together."""

from service.plans.band import band_around
from service.plans.kinds import KINDS, StagePriority
from service.plans.members import Members
from service.plans.model import Ends, Ramp, Stage
from service.plans.moments import said_length

BY_FERMENTATION = (Ends.SHARE, Ends.STEADY_GRAVITY)
"""Ends that need yeast at work."""


def check_end(members: Members, stage: Stage) -> None:
    """Refuses an end that cannot come, and what would come after it."""
    if stage.ends is Ends.TIME and stage.lasts_s is None:
        members.refuse("lasts_s", "it ends by time but does not say when", "give lasts_s, in seconds")
    if stage.ends is Ends.SHARE and stage.share is None:
        members.refuse("share", "it ends by share but does not say which", "give share, as 0.75")
    if stage.ends is not Ends.SHARE and stage.share is not None:
        members.refuse(
            "share", f"share means nothing when it ends by {stage.ends}", "leave it out, or say ends: share"
        )
    if stage.ends in BY_FERMENTATION and KINDS[stage.kind].kettle:
        members.refuse("ends", f"nothing ferments in a {stage.kind}", "take time, brewer or reached")
    if stage.ends is Ends.REACHED and _has_no_limit(stage):
        members.refuse(
            "ends", "without a band there is nothing to reach", "give low_c or high_c, or another end"
        )
    if (
        isinstance(stage.target_c, Ramp)
        and stage.lasts_s is not None
        and stage.target_c.over_s > stage.lasts_s
    ):
        members.refuse(
            "target_c/over_s",
            f"its ramp takes {said_length(stage.target_c.over_s)}, all of it {said_length(stage.lasts_s)}",
            "make the ramp shorter or the stage longer",
        )
    _check_prompts(members, stage)


def check_priorities(members: Members, stage: Stage) -> None:
    """Refuses a priority for an alarm that could never be raised."""
    kettle = KINDS[stage.kind].kettle
    band = _some_band(stage)
    for member, priority, limit, limit_c in (
        ("warm_priority", stage.warm_priority, "high_c", band[1]),
        ("cold_priority", stage.cold_priority, "low_c", band[0]),
    ):
        if priority is None:
            continue
        if priority is StagePriority.BY_PHASE and kettle:
            members.refuse(member, f"nothing ferments in a {stage.kind}", "take low, medium, high or none")
        if limit_c is None:
            members.refuse(
                member, f"there is no {limit}, so no alarm could be raised", f"give {limit}, or take none"
            )
        elif stage.alarm_after_s is None:
            members.refuse(
                member,
                f"a {stage.kind} has no delay by itself",
                "give alarm_after_s, in seconds, or take none",
            )


def _check_prompts(members: Members, stage: Stage) -> None:
    for i, prompt in enumerate(stage.prompts):
        for member, value_s in (("at_s", prompt.at_s), ("before_end_s", prompt.before_end_s)):
            if value_s is None:
                continue
            if stage.lasts_s is None:
                if member == "before_end_s":
                    members.refuse(
                        f"prompts/{i}/{member}",
                        f"prompt {i + 1} comes before an end that is not planned",
                        "give the stage lasts_s, or the prompt at_s",
                    )
            elif value_s > stage.lasts_s:
                where = "after the end" if member == "at_s" else "before the beginning"
                members.refuse(
                    f"prompts/{i}/{member}",
                    f"prompt {i + 1} would come {where}; the stage lasts {said_length(stage.lasts_s)}",
                    f"give at most {stage.lasts_s:.10g} s, or make the stage longer",
                )


def _some_band(stage: Stage) -> tuple[float | None, float | None]:
    target_c = stage.target_c.from_c if isinstance(stage.target_c, Ramp) else stage.target_c
    band = band_around(stage, target_c)
    return band.low_c, band.high_c


def _has_no_limit(stage: Stage) -> bool:
    return _some_band(stage) == (None, None)
