"""Probes that came off, and all that only looks like it, by the simulated kitchen minute by minute."""

from datetime import timedelta

import pytest

from service.watch.offprobe import LOOK_BACK_MIN, Off, looked_at
from tests.sensors.simulated.twins import fermenter, moments

EVERY_MIN = 3
"""As often as the service looks."""


def calls(name: str, from_h: float, to_h: float) -> list[tuple[float, bool]]:
    """When what is said of the probe changed: hours after the start, and whether it is off from then on."""
    twin = fermenter(name)
    seen = moments(twin, from_h, to_h)
    liquid = [round(16 * m.probe_c) / 16 for m in seen]
    air = [round(16 * m.room_probe_c) / 16 for m in seen]
    off: Off | None = None
    found = []
    for k in range(LOOK_BACK_MIN, len(seen), EVERY_MIN):
        now = twin.starts + timedelta(hours=from_h, minutes=k)
        after = looked_at(off, liquid[k - LOOK_BACK_MIN : k], air[k - LOOK_BACK_MIN : k], None, now)
        if (after is None) != (off is None):
            found.append((round(from_h + k / 60, 2), after is not None))
        off = after
    return found


def test_a_probe_that_falls_off_is_called_within_half_an_hour_and_taken_back_when_it_sits_again() -> None:
    seen = calls("fallen-off", 1, 60)

    assert [is_off for _, is_off in seen] == [True, False]
    assert 40.0 < seen[0][0] <= 40.5
    assert 50.0 < seen[1][0] <= 51.0


@pytest.mark.parametrize(
    ("name", "from_h", "to_h"),
    [
        ("moved", 50, 90),
        ("fridge-crash", 180, 230),
        ("heat-pad", 1, 40),
        ("wet-cloth", 24, 72),
        ("winter", 24, 60),
        ("cupboard", 1, 120),
    ],
)
def test_nothing_is_called_when_the_beer_is_moved_cooled_warmed_or_left_alone(
    name: str, from_h: float, to_h: float
) -> None:
    assert calls(name, from_h, to_h) == []
