"""The one exception tree: a class for each thing a caller would do differently."""

from dataclasses import dataclass


class GylewatchError(Exception):
    """Anything gylewatch refuses or cannot do, said in one sentence a person can act on."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with what was given.

    field is a JSON pointer into the input (``/stages/0/low_c``, empty for the whole of it).
    """

    field: str
    problem: str
    remedy: str = ""


class InvalidInputError(GylewatchError):
    """What was given cannot be used; `problems` names each field. The caller mends the input."""

    def __init__(self, *problems: Problem) -> None:
        self.problems = problems
        super().__init__("; ".join(f"{p.field or 'input'}: {p.problem}" for p in problems))


class NotFoundError(GylewatchError):
    """There is nothing by that name. The caller looks again."""


class ConflictError(GylewatchError):
    """What was asked contradicts what is. The caller looks at the present state first."""


class StaleError(GylewatchError):
    """Somebody else changed it in the meantime (HTTP 412). The caller reads it again."""


class UnavailableError(GylewatchError):
    """Not now: a part that is needed is not well. The caller tries again later."""


class NotAdmittedError(GylewatchError):
    """Who asks could not show who they are (HTTP 401). The caller logs in, or gives another token."""


class NotAllowedError(GylewatchError):
    """Who asks is known and may not do that (HTTP 403)."""


class TooSoonError(GylewatchError):
    """Too many tries (HTTP 429). after_s: whole seconds until the next one is looked at."""

    def __init__(self, message: str, after_s: int) -> None:
        super().__init__(message)
        self.after_s = after_s


class SettingsError(GylewatchError):
    """A setting is wrong; the program does not start."""
