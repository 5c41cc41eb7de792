"""Boiling, freezing, hot bottles, and changes too fast to be the beer's own."""

from service.alarms.model import Finding, Presence
from service.alarms.rules.about import About, found, of_vessel, unknown
from service.alarms.words import span

BOIL_AHEAD_MIN = 3.0
BOIL_NEAR_MIN = 5.0
CLIMBING_C_PER_MIN = 0.2
"""A rest or a mash that is stirred hardly climbs; a kettle on its way to the boil climbs faster than this."""
ON_THE_PLATEAU_C = 0.3

FREEZING_C = -1.0
NEAR_FREEZING_C = -0.5
NEAR_FREEZING_CLEAR_C = 0.0
COLD_ENOUGH_TO_FREEZE_SOON_C = 1.0

BOTTLES_WARM_C = 28.0
BOTTLES_CLEAR_C = 27.0

FALL_IN_A_DAY_C = 2.5
"""A fall of more than 2 to 3 C in a day can stall yeast (common practice)."""
FALL_CLEAR_C = 2.3


def near_boil(
    about: About,
    temp_c: float | None,
    slope_c_per_min: float | None,
    plateau_c: float | None,
    boiling_c: float = 100.0,
) -> Finding:
    """near-boil: at its present climb the kettle is at its plateau within three minutes.

    plateau_c: where this kettle last boiled by this probe (`boiling_plateau_c`); without one, boiling_c.
    Being hot alone says nothing: a kettle that stands at 96 C is not about to boil.
    """
    subject = of_vessel("near-boil", about)
    if temp_c is None or slope_c_per_min is None:
        return unknown(subject, about, "no reading: nothing is known of the boil")
    top_c = boiling_c if plateau_c is None else plateau_c
    if temp_c >= top_c - ON_THE_PLATEAU_C:
        return found(subject, about, Presence.ABSENT, f"{about.degrees(temp_c)}: it boils")
    if slope_c_per_min < CLIMBING_C_PER_MIN:
        return found(subject, about, Presence.ABSENT, f"{about.degrees(temp_c)}, not climbing to the boil")
    minutes = (top_c - temp_c) / slope_c_per_min
    presence = (
        Presence.PRESENT
        if minutes <= BOIL_AHEAD_MIN
        else Presence.NEAR
        if minutes <= BOIL_NEAR_MIN
        else Presence.ABSENT
    )
    words = f"{about.degrees(temp_c)} and climbing: it boils in about {span(minutes * 60)}"
    numbers = {"now_c": temp_c, "limit_c": top_c, "slope_c_per_min": slope_c_per_min}
    return found(subject, about, presence, words, numbers)


def near_freezing(about: About, temp_c: float | None, slope_c_per_h: float | None) -> Finding:
    """near-freezing: near -1 C, or nearly at 0 C and at -1 C within the hour at its present fall."""
    subject = of_vessel("near-freezing", about)
    if temp_c is None:
        return unknown(subject, about, "no reading: nothing is known of the cold")
    soon = (
        slope_c_per_h is not None
        and temp_c < COLD_ENOUGH_TO_FREEZE_SOON_C
        and temp_c + slope_c_per_h <= FREEZING_C
    )
    if temp_c <= NEAR_FREEZING_C or soon:
        presence = Presence.PRESENT
        words = f"{about.degrees(temp_c)}" + (" and falling fast" if soon else f" since {about.began()}")
    elif temp_c < NEAR_FREEZING_CLEAR_C:
        presence, words = Presence.NEAR, f"{about.degrees(temp_c)}, hardly warmer yet"
    else:
        presence, words = Presence.ABSENT, f"{about.degrees(temp_c)}, away from freezing"
    return found(subject, about, presence, words, {"now_c": temp_c, "limit_c": NEAR_FREEZING_C})


def bottles_warm(about: About, temp_c: float | None) -> Finding:
    """bottles-warm: above 28 C. For places that hold bottles only."""
    subject = of_vessel("bottles-warm", about)
    if temp_c is None:
        return unknown(subject, about, "no reading: nothing is known of the bottles")
    numbers = {"now_c": temp_c, "limit_c": BOTTLES_WARM_C, "over_c": temp_c - BOTTLES_WARM_C}
    if temp_c > BOTTLES_WARM_C:
        words = f"{about.degrees(temp_c)} since {about.began()}, over {about.degrees(BOTTLES_WARM_C)}"
        return found(subject, about, Presence.PRESENT, words, numbers)
    presence = Presence.NEAR if temp_c > BOTTLES_CLEAR_C else Presence.ABSENT
    return found(subject, about, presence, f"{about.degrees(temp_c)}", numbers)


def fast_change(
    about: About,
    rate_c_per_h: float | None,
    most_c_per_h: float,
    fall_24h_c: float | None,
    *,
    before_end: bool | None,
    by_plan: bool,
) -> Finding:
    """fast-change: faster than this vessel can change by itself, or a fall that can stall the yeast.

    most_c_per_h: what the vessel's size and surroundings allow. fall_24h_c: how much colder than a day
    ago, None when that is not known. before_end: whether the fermentation goes on; None counts as yes.
    by_plan: the stage itself changes the temperature (a ramp, a crash, a chill): nothing is judged.
    """
    subject = of_vessel("fast-change", about)
    if by_plan:
        return found(subject, about, Presence.ABSENT, "the plan changes the temperature")
    if rate_c_per_h is None and fall_24h_c is None:
        return unknown(subject, about, "not enough readings to tell a rate")
    rate, fall = rate_c_per_h or 0.0, fall_24h_c or 0.0
    if before_end is False:
        fall = 0.0
    numbers = {"rate_c_per_h": rate, "limit_c_per_h": most_c_per_h, "fall_24h_c": fall}
    if abs(rate) > most_c_per_h:
        way = "rising" if rate > 0 else "falling"
        words = f"{way} by {about.difference(rate)} an hour since {about.began()}"
        return found(subject, about, Presence.PRESENT, words, numbers)
    if fall > FALL_IN_A_DAY_C:
        words = f"{about.difference(fall)} colder than a day ago, before the fermentation has ended"
        return found(subject, about, Presence.PRESENT, words, numbers)
    calm = abs(rate) <= 0.8 * most_c_per_h and fall <= FALL_CLEAR_C
    presence = Presence.ABSENT if calm else Presence.NEAR
    return found(subject, about, presence, "the temperature changes no faster than it may", numbers)
