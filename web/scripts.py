"""Small modules put together into one classic script, each in a function of its own. Pure.

Our modules are written so that this is safe: imports and exports stand at the beginning of a line, each
import on one line and by a relative path, every export a function, a class or a constant. What is written
otherwise is refused, not guessed at.
"""

import re
from collections.abc import Mapping

IMPORT = re.compile(r'^import (?:\{ ([\w, ]+) \} from )?"\./([\w-]+)\.js";$', re.MULTILINE)
EXPORT = re.compile(r"^export (?=(?:async )?(?:function|const|class) (\w+))", re.MULTILINE)
LEFT_OVER = re.compile(r"^(?:import|export)\b.*$|\bawait import\(|\bimport\(", re.MULTILINE)


class ScriptError(ValueError):
    """A module is written in a way that cannot be put together."""


def one_script(texts: Mapping[str, str], path: str) -> str:
    """The module at `path` with all that it imports, each once and before what needs it.

    texts: every module by its path (``js/chart.js``). ScriptError for one written otherwise, KeyError for one
    that does not exist.
    """
    order: list[str] = []
    _visit(texts, path, order, ())
    parts = [_part(one, texts[one]) for one in order]
    return '"use strict";\n{\n' + "\n".join(parts) + "\n}\n"


def _visit(texts: Mapping[str, str], path: str, order: list[str], above: tuple[str, ...]) -> None:
    if path in above:
        raise ScriptError(f"{path} imports itself, by way of {above[-1]}")
    if path in order:
        return
    for _, name in IMPORT.findall(texts[path]):
        _visit(texts, f"js/{name}.js", order, (*above, path))
    order.append(path)


def _part(path: str, text: str) -> str:
    names = EXPORT.findall(text)
    body = EXPORT.sub("", IMPORT.sub(_taken, text))
    wrong = LEFT_OVER.search(body)
    if wrong is not None:
        raise ScriptError(f"{path}: '{wrong[0]}' cannot be put together; write one import or export a line")
    return f"const {_name(path)} = (() => {{\n{body}\nreturn {{ {', '.join(names)} }};\n}})();"


def _taken(found: re.Match[str]) -> str:
    names, module = found.groups()
    return f"const {{ {names} }} = {_name(module)};" if names else ""


def _name(path: str) -> str:
    return "$" + path.removeprefix("js/").removesuffix(".js").replace("-", "_")
