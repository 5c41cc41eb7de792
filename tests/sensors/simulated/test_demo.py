"""The demonstration must show something alive."""

from datetime import UTC, datetime, timedelta

import pytest

from sensors.simulated.demo import demo_scenario
from sensors.simulated.kitchen import Kitchen
from sensors.simulated.source import SimulatedSource

NOW = datetime(2026, 11, 25, 10, 26, 47, tzinfo=UTC)


@pytest.mark.parametrize("seed", range(5))
def test_the_demo_is_some_days_into_a_fermentation_in_a_cool_cupboard(seed: int) -> None:
    scenario = demo_scenario(NOW)
    kitchen = Kitchen(scenario, seed)

    moments = [kitchen.at(scenario.starts + timedelta(minutes=10 * n)) for n in range(6 * 24 * 4)]
    now = kitchen.at(NOW)

    assert 0.6 < now.share < 0.95
    assert now.heat_w > 0.1
    assert min(m.air_c for m in moments) > 15.5
    assert max(m.air_c for m in moments) < 20.0
    assert max(m.beer_c - m.air_c for m in moments) > 0.8


def test_nine_days_of_history_at_a_minute_hold_every_minute_of_both_probes() -> None:
    scenario = demo_scenario(NOW)
    source = SimulatedSource(Kitchen(scenario, 1), seed=1)

    past = list(source.history(scenario.starts, scenario.starts + timedelta(days=9), every_s=60.0))

    assert len(past) == 2 * 9 * 24 * 60
    assert [value.at for value in past[::2]] == [
        scenario.starts + timedelta(minutes=n) for n in range(9 * 24 * 60)
    ]
