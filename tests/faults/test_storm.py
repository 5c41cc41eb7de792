"""That the judge of a storm sees what is lost, invented and torn."""

from collections import Counter
from typing import Any

import pytest

from tests.faults.storm import broken, changed, lost


def row(state: str, text: str = "Too warm", far_end: str | None = None) -> dict[str, Any]:
    return {"state": state, "title": text, "text": text, "far_end": far_end}


@pytest.mark.parametrize(
    ("rows", "arrived", "words"),
    [
        ({1: row("sent")}, [], "never arrived"),
        ({1: row("waiting")}, ["m-1"], "is waiting"),
        ({1: row("gave-up")}, [], "is gave-up"),
        ({1: row("merged", "Too cold", "went with m-2"), 2: row("sent")}, ["m-2"], "not in the message"),
    ],
)
def test_a_message_that_never_arrived_is_seen(rows: dict[int, Any], arrived: list[str], words: str) -> None:
    bodies = [{"id": name, "reason": "first", "text": ""} for name in arrived]

    assert words in lost(rows, bodies, Counter(arrived))[0]


def test_what_arrived_is_not_lost() -> None:
    rows = {1: row("sent"), 2: row("merged", far_end="went with m-1"), 3: row("sent", "Too cold")}
    bodies = [
        {"id": "m-1", "reason": "first", "text": "Too warm"},
        {"id": "merged-1", "reason": "merged", "text": "08:00: Too cold"},
    ]

    assert lost(rows, bodies, Counter(body["id"] for body in bodies)) == []


def test_a_history_with_a_step_missing_is_seen() -> None:
    steps = [("normal", "unacknowledged"), ("acknowledged", "normal")]
    transitions = [{"alarm_id": 7, "before": a, "after": b} for a, b in steps]

    assert broken(transitions, {7: "normal"}) == ["a-7 went from unacknowledged to acknowledged unseen"]
    assert broken(transitions[:1], {7: "acknowledged"}) == ["a-7 is acknowledged, not unacknowledged"]
    assert broken(transitions[:1], {7: "unacknowledged"}) == []


def test_a_message_that_came_in_two_versions_is_seen() -> None:
    assert changed([{"id": "m-1", "text": "a"}, {"id": "m-1", "text": "b"}]) == ["m-1 came in two versions"]
    assert changed([{"id": "m-1", "text": "a"}, {"id": "m-1", "text": "a"}]) == []
