"""Silence and absences of the fake house: nobody works, nobody is away."""

from collections.abc import Mapping, Sequence
from typing import Any

from web.pages.away import AbsenceView, HeartbeatView
from web.pages.probes import Choice
from web.pages.silence import OutView, WorkView


class FakeQuiet:
    """Answers what the page of quiet asks."""

    __slots__ = ()

    def anyone_told(self) -> bool:
        return True

    def works(self) -> Sequence[WorkView]:
        return ()

    def start_working(self, by: str, fields: Mapping[str, Any]) -> None: ...

    def stop_working(self, vessel_id: str, by: str) -> None: ...

    def out_of_service(self) -> Sequence[OutView]:
        return ()

    def kinds_of_alarm(self) -> Sequence[tuple[str, str]]:
        return (("above-band", "Too warm"),)

    def places_of_alarms(self) -> Sequence[tuple[str, str]]:
        return (("itself", "gylewatch itself"),)

    def take_out(self, by: str, fields: Mapping[str, Any]) -> None: ...

    def put_back(self, which: str, by: str) -> None: ...

    def channel_choices(self) -> Sequence[Choice]:
        return (Choice("phone", "Phone"),)

    def absences(self) -> Sequence[AbsenceView]:
        return ()

    def helper_example(self) -> str:
        return "One.\nTwo.\nThree."

    def add_absence(self, by: str, fields: Mapping[str, Any]) -> None: ...

    def remove_absence(self, absence_id: str, by: str) -> None: ...

    def heartbeat(self) -> HeartbeatView | None:
        return None

    def set_heartbeat(self, by: str, fields: Mapping[str, Any]) -> None: ...

    def end_heartbeat(self, by: str) -> None: ...
