"""How the brewer wants figures written, as chosen last."""

from dataclasses import asdict, dataclass

from sqlalchemy import Connection

from service.record.marks import read_mark, set_mark

MARK = "notation"


@dataclass(frozen=True, slots=True)
class Notation:
    """temperatures: C or F. gravity: SG or Plato. clock: 12 or 24 hours."""

    temperatures: str = "C"
    gravity: str = "SG"
    clock: int = 24


def read_notation(connection: Connection) -> Notation | None:
    """What was chosen, or None while nobody has chosen."""
    kept = read_mark(connection, MARK)
    return None if kept is None else Notation(kept["temperatures"], kept["gravity"], kept["clock"])


def keep_notation(connection: Connection, notation: Notation) -> None:
    """Keep what was chosen."""
    set_mark(connection, MARK, asdict(notation))
