"""LICENCES.md lists what is pinned, each under the licence it names, and nothing that binds us."""

import re
from importlib.metadata import distribution

import pytest

from tests.deploy.licences import EXTRAS, PAGE, PARTS, ROOT, declared, licence_of, pinned, plain

TEXT = PAGE.read_text(encoding="utf-8")
LISTED = {
    name: (version, licence)
    for name, version, licence in re.findall(r"^\| ([\w.-]+) \| ([\w.]+) \| (.+) \|$", TEXT, re.MULTILINE)
    if name != "package"
}


def section(part: str) -> str:
    """The text of one part of the page."""
    return TEXT.split(f"## {PARTS[part]}")[1].split("\n## ")[0]


def test_it_lists_exactly_what_is_pinned() -> None:
    assert {name: version for name, (version, _) in LISTED.items()} == pinned()


@pytest.mark.parametrize("name", sorted(LISTED))
def test_each_licence_is_the_one_the_installed_package_names(name: str) -> None:
    installed = distribution(name)

    assert LISTED[name][1] == licence_of(installed)
    assert LISTED[name][1] != "not said"


def test_no_part_of_the_program_is_under_a_licence_that_would_bind_it() -> None:
    assert not re.search(r"\bA?GPL|General Public|Affero", section("program") + section("extras"))
    assert "GPL" in section("tests") or "General Public" in section("tests")


def test_the_chart_library_is_listed() -> None:
    assert re.search(
        r"^\| uplot \(script of the page\) \| [\d.]+ \| MIT \|$", section("program"), re.MULTILINE
    )


def test_each_dependency_is_justified() -> None:
    lines = [*declared(), *declared(*EXTRAS)]
    reasons = (ROOT / "DEVELOPERS.md").read_text().split("## Dependencies, and why")[1]
    said = {plain(word.rstrip(".")) for word in re.findall(r"[A-Za-z][\w.-]*", reasons)}

    names = {plain(re.match(r"[\w.-]+", line)[0]) for line in lines}  # type: ignore[index]

    assert names - said == set()
