"""When the beer is really cold: when little is still to come, not when the band is first reached. Pure."""

from datetime import datetime

from service.alarms import rules
from service.alarms.model import AlarmState, Finding
from service.alarms.rules import About
from service.plans.band import Band
from service.plans.kinds import StageKind
from service.plans.model import Stage
from service.watch.asked import name_of_due

LEFT_C = 1.0
"""Really cold: less than this is still to come."""


def name_of_cold(batch_id: str, n: int) -> str:
    """Tells this one thing asked from the prompts of the same step."""
    return f"{name_of_due(batch_id, n, None)}.cold"


def left_to_come_c(trend_c_per_h: float, tau_h: float) -> float:
    """How far beer still has to go, by Newton's law of cooling: its rate times the time constant."""
    return abs(trend_c_per_h) * tau_h


def really_cold(
    about: About,
    stage: Stage,
    band: Band,
    temp_c: float | None,
    trend_c_per_h: float | None,
    tau_h: float,
    state: AlarmState | None,
    now: datetime,
) -> Finding | None:
    """The word that a crash has come to its end in the beer, or None. Said once, it stands for the stage.

    temp_c, trend_c_per_h: of the beer, C and C an hour. tau_h: the vessel's time constant, hours. state: what
    is remembered of this word.
    """
    if stage.kind is not StageKind.CRASH:
        return None
    if state is not None and state.cause_stands:
        return rules.stage_due(about, state.since or now, state.reason.partition(" (since ")[0])
    if temp_c is None or trend_c_per_h is None or not band.holds(temp_c):
        return None
    left_c = left_to_come_c(trend_c_per_h, tau_h)
    if left_c >= LEFT_C:
        return None
    say = (
        f"The beer is really cold: {about.degrees(temp_c)}, and by its vessel's time constant of "
        f"{tau_h:.0f} h less than a degree is still to come. Let it settle from now on"
    )
    return rules.stage_due(about, now, say)
