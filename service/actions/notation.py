"""How figures are written on the page and in messages: Celsius or Fahrenheit, SG or Plato, 12 or 24 hours."""

from typing import Literal

from service.actions.desk import Desk
from service.actions.wire import Answer, Ask
from service.record.notation import Notation, keep_notation


class NotationChange(Ask):
    """A change of what is written how (JSON merge patch); the API itself keeps to C and SG."""

    temperatures: Literal["C", "F"] | None = None
    gravity: Literal["SG", "Plato"] | None = None
    clock: Literal[12, 24] | None = None


class NotationAnswer(Answer):
    """What holds. timezone: as the service was started with."""

    temperatures: Literal["C", "F"]
    gravity: Literal["SG", "Plato"]
    clock: Literal[12, 24]
    timezone: str


def the_notation(desk: Desk) -> NotationAnswer:
    """What holds now: as chosen, or as the service was started."""
    chosen = desk.watch.notation
    return NotationAnswer.model_validate(
        {
            "temperatures": chosen.temperatures,
            "gravity": chosen.gravity,
            "clock": chosen.clock,
            "timezone": str(desk.zone),
        }
    )


def change_notation(desk: Desk, ask: NotationChange) -> NotationAnswer:
    """Choose; what is left out stays. Messages and alarms follow from the next round on."""
    now = desk.watch.notation
    chosen = Notation(
        ask.temperatures or now.temperatures, ask.gravity or now.gravity, ask.clock or now.clock
    )
    desk.record.write(lambda connection: keep_notation(connection, chosen))
    desk.watch.reload()
    return the_notation(desk)
