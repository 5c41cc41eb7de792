"""What a batch's chart shows beside temperatures, in sentences and rows for those who do not see it. Pure."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from web.chart import GravityPoint, Story
from web.words import Taste, duration

APART = timedelta(hours=12)
"""In the table one estimate stands for so long: hour by hour it hardly changes."""


def ahead_sentence(story: Story, taste: Taste, now: datetime) -> str:
    """Where it is expected to go, and whether it leaves the band; empty when nothing is foreseen."""
    if not story.ahead:
        return ""
    first, last = story.ahead[0], story.ahead[-1]
    spread = f"{taste.figure(last.low90_c)} to {taste.temperature(last.high90_c)}"
    hours, begins = duration(last.at - first.at), taste.temperature(first.temp_c)
    words = (
        f"In the coming {hours} it is expected to go from {begins} to {taste.temperature(last.temp_c)}"
        f" (with 90 % {spread})"
    )
    if story.leaves_band_at is None:
        return f"{words}."
    if story.leaves_band_at <= first.at:
        return f"{words}; it lies outside its band already."
    return f"{words}, and to leave its band about {taste.moment(story.leaves_band_at, now)}."


def gravity_sentence(story: Story, taste: Taste, now: datetime) -> str:
    """What the gravity was last read as, and what it is estimated to be."""
    said = []
    if story.readings:
        last = story.readings[-1]
        when = taste.moment(last.at, now)
        said.append(f"Its gravity was last read as {taste.gravity_words(last.sg)} ({when})")
    if story.estimates:
        last = story.estimates[-1]
        low, high = taste.gravity_figure(last.low), taste.gravity_figure(last.high)
        begins = "and" if said else "Its gravity"
        said.append(
            f"{begins} was estimated from its heat as {taste.gravity_words(last.sg)}"
            f" (with 90 % {low} to {high}, {taste.moment(last.at, now)})"
        )
    return f"{' '.join(said)}." if said else ""


def gravity_rows(story: Story) -> Sequence[GravityPoint]:
    """Newest first: every reading, and an estimate each half day, the newest among them."""
    kept: list[GravityPoint] = []
    for point in reversed(story.estimates):
        if not kept or kept[-1].at - point.at >= APART:
            kept.append(point)
    return sorted([*kept, *story.readings], key=lambda point: point.at, reverse=True)
