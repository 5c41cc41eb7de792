"""A forgotten button: what seems to have begun, to be answered with one tap."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class QuestionView:
    """What seems to have begun. to: the stage that yes would enter, at that time."""

    what: str
    to: str
    at: datetime
    say: str
