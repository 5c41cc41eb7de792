"""Telling people and machines what was found."""

import json
from collections.abc import Callable, Sequence
from dataclasses import asdict
from typing import Any

from service.doctor.checks import Finding, Level

SIGNS = {Level.WELL: "ok   ", Level.NOTE: "note ", Level.WRONG: "WRONG"}
TO_MEND = 3
"""The exit code when something is to be mended."""


def tell(findings: Sequence[Finding], as_json: bool, say: Callable[[str], Any]) -> int:
    """Say the findings; returns the exit code: 0 when nothing is to be mended, else 3."""
    wrong = sum(one.level is Level.WRONG for one in findings)
    if as_json:
        say(json.dumps({"wrong": wrong, "findings": [asdict(one) for one in findings]}, indent=2))
        return TO_MEND if wrong else 0
    for one in findings:
        say(f"{SIGNS[one.level]} {one.name}: {one.found}")
        if one.remedy:
            say(f"        {one.remedy}")
    say("Nothing is to be mended." if not wrong else f"To be mended: {wrong}.")
    return TO_MEND if wrong else 0
