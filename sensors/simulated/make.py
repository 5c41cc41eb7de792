"""From a scenario to what can be asked: its twin, and a source whose probes hang in it."""

from sensors.simulated.kettle import Kettle
from sensors.simulated.kettle_scene import KettleScene
from sensors.simulated.kitchen import Kitchen
from sensors.simulated.moment import Twin
from sensors.simulated.scenario import Scenario
from sensors.simulated.source import KETTLE_PROBES, USUAL_PROBES, SimulatedSource


def twin_of(scenario: Scenario | KettleScene, seed: int) -> Twin:
    """The twin of a scenario."""
    return Kettle(scenario, seed) if isinstance(scenario, KettleScene) else Kitchen(scenario, seed)


def source_of(scenario: Scenario | KettleScene, seed: int) -> SimulatedSource:
    """A source with the usual probes in the scenario's twin, which fail as the scenario says."""
    probes = KETTLE_PROBES if isinstance(scenario, KettleScene) else USUAL_PROBES
    return SimulatedSource(twin_of(scenario, seed), probes, seed=seed, faults=scenario.faults)
