"""The licences of everything gylewatch needs, told from the installed packages' own words.

Run: python -m tests.deploy.licences, in an environment with everything of constraints.txt installed. It
writes LICENCES.md anew.
"""

import json
import re
import sys
import tomllib
from collections.abc import Iterable, Iterator
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "LICENCES.md"
HEAD = """# Licences

gylewatch is under the MIT licence ([LICENSE](LICENSE)). It needs what is listed here; each package is under
the licence that it names itself. Made by `python -m tests.deploy.licences`; a test holds it against
`constraints.txt`, against the installed packages, and against a licence that would bind gylewatch.
"""
PARTS = {
    "program": "What the program needs",
    "extras": "What an extra needs (`apprise`, `mqtt`, `postgres`)",
    "tests": "What only the tests need; none of it is installed with the program",
}
EXTRAS = ("apprise", "mqtt", "postgres")
Row = tuple[str, str, str]


def plain(name: str) -> str:
    """A package's name as pip compares it."""
    return re.sub(r"[-_.]+", "-", name).lower()


def pinned() -> dict[str, str]:
    """The versions of constraints.txt by plain name."""
    lines = (ROOT / "constraints.txt").read_text().split()
    return {plain(name): version for name, _, version in (line.partition("==") for line in lines)}


def licence_of(one: Distribution) -> str:
    """What a package says of its licence: as an SPDX expression, in a word, by class, or in its own file."""
    said = one.metadata
    expression = said.get("License-Expression")
    word = (said.get("License") or "").strip()
    classes = [
        line.split("::")[-1].strip()
        for line in said.get_all("Classifier") or []
        if line.startswith("License ::") and not line.endswith("OSI Approved")
    ]
    if expression:
        return str(expression)
    if word and "\n" not in word and len(word) < 40:
        return word
    return ", ".join(classes) or next(_first_lines(one), "not said")


def _first_lines(one: Distribution) -> Iterator[str]:
    for file in one.files or []:
        if "LICEN" in file.name.upper():
            first = Path(str(file.locate())).read_text(encoding="utf-8").strip().splitlines()[0]
            yield first.strip("# ")


def declared(*extras: str) -> list[str]:
    """What pyproject.toml asks for: the program's needs, or those of some extras."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    more = project["optional-dependencies"]
    return [line for name in extras for line in more[name]] if extras else list(project["dependencies"])


def needed(lines: Iterable[str]) -> set[str]:
    """The plain names of what is asked for, and of what that needs in turn."""
    found: set[str] = set()
    waiting = [(line, frozenset[str]()) for line in lines]
    while waiting:
        line, wanted = waiting.pop()
        condition = re.search(r"extra == ['\"]([\w.-]+)['\"]", line)
        part = re.match(r"([\w.-]+)(?:\[([\w,.-]+)\])?", line)
        assert part is not None, line
        if plain(part[1]) in found or (condition and condition[1] not in wanted):
            continue
        found.add(plain(part[1]))
        try:
            requires = distribution(part[1]).requires or []
        except PackageNotFoundError:
            continue
        waiting += [(one, frozenset((part[2] or "").split(","))) for one in requires]
    return found


def parts() -> dict[str, list[Row]]:
    """By part: name, version, licence of each pinned package."""
    program = needed(declared())
    extras = needed(declared(*EXTRAS)) - program
    rows: dict[str, list[Row]] = {name: [] for name in PARTS}
    for name, version in sorted(pinned().items()):
        part = "program" if name in program else "extras" if name in extras else "tests"
        rows[part].append((name, version, licence_of(distribution(name))))
    lock = json.loads((ROOT / "web" / "package-lock.json").read_text())["packages"]
    for place, one in lock.items():
        if place.startswith("node_modules/") and not one.get("dev"):
            name = place.removeprefix("node_modules/")
            rows["program"].append((f"{name} (script of the page)", one["version"], one["license"]))
    return rows


def page(rows: dict[str, list[Row]]) -> str:
    """LICENCES.md."""
    text = HEAD
    for part, title in PARTS.items():
        text += f"\n## {title}\n\n| package | version | licence |\n|---|---|---|\n"
        text += "".join(f"| {name} | {version} | {licence} |\n" for name, version, licence in rows[part])
    return text


if __name__ == "__main__":
    sys.exit(PAGE.write_text(page(parts())) == 0)
