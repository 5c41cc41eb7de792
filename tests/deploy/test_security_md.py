"""What SECURITY.md names as shown is shown: every test it points to exists."""

import ast
import re

import pytest

from tests.deploy.conftest import ROOT

PAGE = (ROOT / "deploy" / "SECURITY.md").read_text(encoding="utf-8")
NAMED = sorted(set(re.findall(r"`(tests/[\w/]+\.py)::(\w+)`", PAGE)))


@pytest.mark.parametrize(("file", "name"), NAMED)
def test_every_test_it_points_to_exists(file: str, name: str) -> None:
    tree = ast.parse((ROOT / file).read_text(encoding="utf-8"))

    assert name in {node.name for node in tree.body if isinstance(node, ast.FunctionDef)}


def test_it_says_how_to_report_and_what_is_missing() -> None:
    assert len(NAMED) >= 25
    for heading in ("## What is promised today", "## What is missing", "## Reporting a weakness"):
        assert heading in PAGE
    for line in re.findall(r"^\| [\d., ]+ \|.*$", PAGE, re.MULTILINE):
        assert "tests/" in line or len(line.split("|")[3].strip()) > 10, line
