"""How long, how many and how far: the bounds that the reader and the published schema share."""

from service.plans.kinds import HOUR_S
from service.plans.moments import LONGEST_S

MOST_STAGES = 50
MOST_PROMPTS = 50
LONGEST_NAME = 80
LONGEST_KEY = 40
LONGEST_SAY = 200

KEY_BEGINS = "^[a-z0-9]"
KEY_NEVER_HAS = "[^a-z0-9_-]"
TEXT_HAS = "\\S"
TEXT_NEVER_HAS = "[\\u0000-\\u001f\\u007f\\ud800-\\udfff]"
"""Patterns in the dialect that ECMA-262 and Python share, to be searched for, not matched whole."""

KEY_OF_THE_END = "end"
"""Where a batch is advanced to when it ends; hence no key of a stage."""

COLDEST_LIMIT_C, WARMEST_LIMIT_C = -10.0, 110.0
WIDEST_DISTANCE_C = 30.0

SECONDS: dict[str, tuple[float, float]] = {
    "lasts_s": (1.0, LONGEST_S),
    "over_s": (1.0, LONGEST_S),
    "at_s": (0.0, LONGEST_S),
    "before_end_s": (0.0, LONGEST_S),
    "reach_within_s": (1.0, 1440 * HOUR_S),
    "alarm_after_s": (0.0, 168 * HOUR_S),
    "clear_after_s": (0.0, 168 * HOUR_S),
    "overdue_after_s": (0.0, 2160 * HOUR_S),
}
"""Least and most of each length of time."""

DEADBAND_C = (0.0, 5.0)
LEAST_SHARE = 0.01
