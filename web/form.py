"""A form as it is shown: what was typed, and what is wrong with it beside the field it belongs to."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from service.errors import Problem


@dataclass(frozen=True, slots=True)
class Form:
    """once: a key that makes it act once. problems: by JSON pointer, as the service names them."""

    once: str = ""
    values: Mapping[str, str] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()

    def value(self, name: str, default: str = "") -> str:
        """What was typed into a field, or what it begins with."""
        return self.values.get(name, default)

    def wrong(self, name: str) -> tuple[Problem, ...]:
        """What is wrong with one field, or with anything inside it."""
        return tuple(p for p in self.problems if _name(p) == name or _name(p).startswith(f"{name}/"))

    def exactly(self, name: str) -> tuple[Problem, ...]:
        """What is wrong with a list as a whole, and not with one of its lines."""
        return tuple(p for p in self.problems if _name(p) == name)

    def elsewhere(self, *shown: str) -> tuple[Problem, ...]:
        """What is wrong and belongs to none of the fields shown."""
        return tuple(p for p in self.problems if all(p not in self.wrong(name) for name in shown))


def _name(problem: Problem) -> str:
    return problem.field.removeprefix("/")
