"""Modules put together into one script keep their names apart, and what cannot be put together is refused."""

import re

import pytest

from web.scripts import ScriptError, one_script
from web.static_files import load

PLAIN = {
    "js/top.js": 'import { a } from "./a.js";\nimport "./b.js";\nconst it = a();\n',
    "js/a.js": "const hidden = 1;\nexport const a = () => hidden;\nexport function other() {}\n",
    "js/b.js": 'import { a, other } from "./a.js";\nexport async function later() { return other(a); }\n',
}


def test_each_module_comes_once_and_before_what_needs_it() -> None:
    whole = one_script(PLAIN, "js/top.js")

    assert [whole.count(f"const ${name} = ") for name in ("a", "b", "top")] == [1, 1, 1]
    assert whole.index("const $a =") < whole.index("const $b =") < whole.index("const $top =")


def test_what_a_module_gives_is_what_it_exports() -> None:
    whole = one_script(PLAIN, "js/top.js")

    assert "return { a, other };" in whole
    assert "return { later };" in whole
    assert "const { a, other } = $a;" in whole
    assert re.search(r"^(import|export)\b", whole, re.MULTILINE) is None


@pytest.mark.parametrize(
    "text",
    [
        'import {\n  a,\n} from "./a.js";\n',
        'import * as all from "./a.js";\n',
        'import { a } from "https://elsewhere.example/a.js";\n',
        "export default 1;\n",
        "export let changing = 1;\n",
        'const late = await import("./a.js");\n',
    ],
)
def test_a_module_written_otherwise_is_refused(text: str) -> None:
    with pytest.raises(ScriptError, match=r"js/odd\.js"):
        one_script({**PLAIN, "js/odd.js": text}, "js/odd.js")


def test_a_ring_of_imports_is_refused() -> None:
    ring = {"js/x.js": 'import "./y.js";\n', "js/y.js": 'import "./x.js";\n'}

    with pytest.raises(ScriptError, match="imports itself"):
        one_script(ring, "js/x.js")


def test_every_module_of_the_package_can_be_put_together() -> None:
    texts = {p: f.body.decode() for p, f in load().by_path.items() if p.startswith("js/")}

    for path in texts:
        assert "return {" in one_script(texts, path)
