"""Reading the members of one JSON object, keeping every problem met, so that all are told at once."""

import difflib
import json
import math
import re
from collections.abc import Collection, Mapping
from enum import StrEnum
from typing import TypeVar

from service.errors import Problem
from service.plans.bounds import TEXT_NEVER_HAS

E = TypeVar("E", bound=StrEnum)

_LARGEST_SAID = 10**12
_LONGEST_SAID = 40


def said(value: object) -> str:
    """Any JSON value in a sentence: short, and without anything that cannot be written again."""
    if value is None or isinstance(value, bool):
        return json.dumps(value)
    if isinstance(value, int | float):
        huge = isinstance(value, int) and abs(value) >= _LARGEST_SAID
        return "a huge number" if huge else f"{value:g}"
    if isinstance(value, str):
        text = json.dumps(value)
        return text if len(text) <= _LONGEST_SAID else f'{text[: _LONGEST_SAID - 4]}…"'
    return "an object" if isinstance(value, Mapping) else "a list"


def pointer(base: str, member: str | int) -> str:
    """The JSON pointer (RFC 6901) to a member of what `base` points to."""
    step = str(member).encode("utf-8", "backslashreplace").decode()
    return f"{base}/{step.replace('~', '~0').replace('/', '~1')}"


class Members:
    """The members of an object at `field`, called `name` in sentences ("stage 'rest'").

    A member that is null is taken as absent. Every method answers None for what is absent or wrong;
    what is wrong is added to `problems`.
    """

    def __init__(self, body: Mapping[str, object], field: str, name: str, problems: list[Problem]) -> None:
        self._body = body
        self._problems = problems
        self.field = field
        self.name = name

    def refuse(self, member: str, problem: str, remedy: str) -> None:
        """Adds a problem with a member, with one inside it ("target_c/from"), or with all of it ("")."""
        where = f"{self.field}/{member}" if member else self.field
        self._problems.append(Problem(where, f"{self.name}: {problem}", remedy))

    def only(self, known: Collection[str]) -> None:
        """Refuses every member that is not known."""
        for member in self._body:
            if member not in known:
                near = difflib.get_close_matches(str(member), known, n=1)
                hint = f"did you mean {near[0]}?" if near else f"its members are {', '.join(known)}"
                self.refuse(pointer("", member)[1:], f"there is no member {said(member)}", hint)

    def inside(self, member: str, body: Mapping[str, object]) -> "Members":
        """The members of an object inside this one."""
        return Members(body, f"{self.field}/{member}", self.name, self._problems)

    def get(self, member: str) -> object:
        """The bare value, None when absent."""
        return self._body.get(member)

    def need(self, member: str, remedy: str) -> bool:
        """Whether the member is there; refuses its absence."""
        if self._body.get(member) is None:
            self.refuse(member, f"{member} is missing", remedy)
            return False
        return True

    def number(self, member: str, remedy: str = "give a plain number") -> float | None:
        """A finite number."""
        value = self._body.get(member)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.refuse(member, f"{member} is {said(value)}, which is no number", remedy)
            return None
        if (isinstance(value, float) and not math.isfinite(value)) or abs(value) >= _LARGEST_SAID:
            self.refuse(member, f"{member} is {said(value)}, which is out of all bounds", remedy)
            return None
        return float(value)

    def bounded(self, member: str, bounds: tuple[float, float], unit: str) -> float | None:
        """A number from the least to the most of `bounds`; the unit is said after numbers, as " s"."""
        least, most = bounds
        value = self.number(member)
        if value is not None and not least <= value <= most:
            self.refuse(member, f"{member} is {value:g}{unit}", f"give {least:g} to {most:.10g}{unit}")
            return None
        return value

    def text(self, member: str, longest: int) -> str | None:
        """A line of text: not blank, not over-long, without control characters; trimmed."""
        value = self._body.get(member)
        if value is None:
            return None
        if not isinstance(value, str):
            self.refuse(member, f"{member} is {said(value)}, which is no text", "give a line of text")
        elif not value.strip():
            self.refuse(member, f"{member} is blank", "give a few words")
        elif len(value) > longest:
            self.refuse(member, f"{member} has {len(value)} characters", f"give at most {longest}")
        elif re.search(TEXT_NEVER_HAS, value):
            self.refuse(member, f"{member} has characters that are no text", "give one line of plain text")
        else:
            return value.strip()
        return None

    def choice(self, member: str, among: type[E]) -> E | None:
        """One of the words of `among`."""
        value = self._body.get(member)
        if value is None:
            return None
        words = [word.value for word in among]
        if not isinstance(value, str) or value not in words:
            self.refuse(member, f"{member} is {said(value)}", f"take one of {', '.join(words)}")
            return None
        return among(value)

    def items(self, member: str, most: int) -> list[object]:
        """A list of at most `most` entries; empty when absent or wrong."""
        value = self._body.get(member)
        if value is None:
            return []
        if not isinstance(value, list):
            self.refuse(member, f"{member} is {said(value)}, which is no list", "give a list in [ ]")
            return []
        if len(value) > most:
            self.refuse(member, f"{member} has {len(value)} entries", f"give at most {most}")
            return []
        return value
