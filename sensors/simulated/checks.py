"""What must hold between the fields of a scenario, beyond the limits of each."""

from collections.abc import Iterable

from sensors.simulated.faults import Fault
from sensors.simulated.happenings import DoorOpened, Fridge, HeatPad, Move
from sensors.simulated.kettle_scene import Heat, KettleScene
from sensors.simulated.problems import ScenarioError
from sensors.simulated.scenario import Scenario
from sensors.simulated.source import KETTLE_PROBES, USUAL_PROBES


def check(scenario: Scenario | KettleScene) -> None:
    """Raises ScenarioError for the first field that contradicts another."""
    probes = KETTLE_PROBES if isinstance(scenario, KettleScene) else USUAL_PROBES
    for number, fault in enumerate(scenario.faults):
        _check_fault(fault, probes, f"/faults/{number}")
    if isinstance(scenario, KettleScene):
        _check_kettle(scenario)
    else:
        _check_fermenter(scenario)


def _check_fault(fault: Fault, probes: Iterable[str], where: str) -> None:
    if fault.probe is not None and fault.probe not in probes:
        raise ScenarioError(
            f"{where}/probe",
            f"there is no probe {fault.probe}",
            f"Give one of: {', '.join(probes)}; or null for all.",
        )
    whens = {"at_h": fault.at_h, "times_a_day": fault.times_a_day, "share_of_reads": fault.share_of_reads}
    given = [name for name, value in whens.items() if value is not None]
    if len(given) != 1:
        found = "it does not say when" if not given else f"it says when more than once ({', '.join(given)})"
        raise ScenarioError(where, found, f"Give exactly one of: {', '.join(whens)}.")


def _check_kettle(scene: KettleScene) -> None:
    for number, step in enumerate(scene.steps):
        if isinstance(step, Heat) and step.until_c is not None and step.until_c > scene.boils_at_c:
            raise ScenarioError(
                f"/steps/{number}/until_c",
                f"{step.until_c:g} C is above the boiling point of {scene.boils_at_c:g} C",
                "Give a lower temperature, or leave it out to boil for the whole time.",
            )


def _check_fermenter(scenario: Scenario) -> None:
    _check_room(scenario, scenario.place, "/place")
    for name, room in scenario.rooms.items():
        heating = room.heating
        if heating is not None and heating.on_h % 24.0 == heating.off_h % 24.0:
            raise ScenarioError(
                f"/rooms/{name}/heating",
                "it goes on and off at the same hour",
                "Give two hours, or leave it out.",
            )
    for number, happening in enumerate(scenario.happenings):
        where = f"/happenings/{number}"
        match happening:
            case Move():
                _check_room(scenario, happening.to, f"{where}/to")
            case DoorOpened():
                _check_room(scenario, happening.room, f"{where}/room")
            case Fridge():
                _check_limits(happening.off_below_c, happening.on_above_c, where, "off_below_c", "on_above_c")
            case HeatPad():
                _check_limits(happening.on_below_c, happening.off_above_c, where, "on_below_c", "off_above_c")
            case _:
                pass


def _check_room(scenario: Scenario, name: str, where: str) -> None:
    if name not in scenario.rooms:
        known = ", ".join(scenario.rooms)
        raise ScenarioError(where, f"there is no room {name}", f"Give one of: {known}; or add it to rooms.")


def _check_limits(low: float | None, high: float | None, where: str, low_name: str, high_name: str) -> None:
    if (low is None) != (high is None):
        missing = low_name if low is None else high_name
        raise ScenarioError(
            f"{where}/{missing}", "a thermostat needs both limits", "Give it, or leave both out."
        )
    if low is not None and high is not None and low >= high:
        raise ScenarioError(
            f"{where}/{low_name}",
            f"{low:g} C is not below {high_name} ({high:g} C)",
            "Leave a gap between them.",
        )
