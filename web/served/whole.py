"""The whole house: everything that all pages together ask of the running service."""

from collections.abc import Mapping, Sequence
from typing import Any

from service.actions import alarms
from service.actions.alarms import number_of
from service.actions.asks import Shelve
from web.served.access import AccessPart
from web.served.asked import asked
from web.served.away import AwayPart
from web.served.bench import BenchPart
from web.served.brews import BrewsPart
from web.served.calibration import CalibrationPart
from web.served.compared import ComparedPart
from web.served.curves import CurvesPart
from web.served.forms import FormsPart
from web.served.hardware import HardwarePart
from web.served.house import DeskHouse
from web.served.places import PlacesPart
from web.served.plans import PlansPart
from web.served.questions import QuestionsPart
from web.served.silence import SilencePart
from web.served.stove import StovePart
from web.served.tasting import TastingPart
from web.served.writing import WritingPart
from web.views import AlarmView

PAST_ALARMS = 50


class WholeHouse(
    DeskHouse,
    AccessPart,
    FormsPart,
    HardwarePart,
    BrewsPart,
    BenchPart,
    CurvesPart,
    ComparedPart,
    CalibrationPart,
    PlansPart,
    StovePart,
    SilencePart,
    AwayPart,
    TastingPart,
    PlacesPart,
    QuestionsPart,
    WritingPart,
):
    """The desk in the shape all pages ask for."""

    def past_alarms(self, cursor: str | None) -> tuple[Sequence[AlarmView], str | None]:
        """Alarms that are over, newest first."""
        before = None if cursor is None else number_of(cursor)
        found = alarms.some_alarms(self._desk, False, None, PAST_ALARMS + 1, before)
        now = self._desk.now()
        shown = [self._alarm(one, now) for one in found[:PAST_ALARMS]]
        return shown, shown[-1].id if len(found) > PAST_ALARMS else None

    def shelve(self, alarm_id: str, by: str, fields: Mapping[str, Any]) -> None:
        """Silence for a while."""
        ask = asked(Shelve, fields)
        alarms.shelve_alarm(self._desk, alarm_id, ask.for_s, ask.reason, by)

    def unshelve(self, alarm_id: str, by: str) -> None:
        """End a shelving."""
        alarms.unshelve_alarm(self._desk, alarm_id, by)
