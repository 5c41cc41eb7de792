"""The version of this program and the day it was released.

The release date is also the earliest time the clock can honestly show: a Pi has no
battery-backed clock and may start in the past.
"""

from datetime import UTC, datetime

__version__ = "0.1.0"
RELEASED = datetime(2026, 11, 25, tzinfo=UTC)
