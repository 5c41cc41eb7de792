"""Whatever the program imports is asked for by name: the tests have more packages than a machine has."""

import ast
import sys
from collections.abc import Iterator
from importlib.metadata import packages_distributions

from tests.deploy.licences import EXTRAS, ROOT, declared, plain

OWN = {"sensors", "service", "web"}
OURS_BY_NAME = {"starlette", "markupsafe"}
"""Parts of what is asked for that its own documentation tells users to import."""


def imported() -> Iterator[tuple[str, str]]:
    """Each first part of a name imported by the program, with the file that does it."""
    for folder in sorted(OWN):
        for file in sorted((ROOT / folder).rglob("*.py")):
            if "node_modules" in file.parts:
                continue
            for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Import):
                    yield from ((alias.name.split(".")[0], str(file)) for alias in node.names)
                elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                    yield node.module.split(".")[0], str(file)


def test_every_import_of_the_program_is_asked_for_in_pyproject() -> None:
    asked = {plain(line.split("[")[0].split(">")[0].split("=")[0].strip()) for line in declared()}
    asked |= {plain(line.split("[")[0].split(">")[0].strip()) for line in declared(*EXTRAS)}
    makers = packages_distributions()

    missing = {
        f"{name} in {file}"
        for name, file in imported()
        if name not in OWN | OURS_BY_NAME | set(sys.stdlib_module_names)
        and not asked & {plain(one) for one in makers.get(name, [name])}
    }

    assert missing == set()
