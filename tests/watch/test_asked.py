from datetime import timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import func, select

from service.plans.dues import ShareReached
from service.record.outbox import messages
from service.record.tables import alarm_memory, said
from service.watch.evidence import Insight
from tests.rig import START, Rig, rig_in, with_batch

PLAN: dict[str, Any] = {
    "name": "Steep and go",
    "stages": [
        {"key": "soak", "kind": "stand", "lasts_s": 600, "ends": "brewer"},
        {
            "key": "rest",
            "kind": "stand",
            "lasts_s": 600,
            "ends": "time",
            "prompts": [{"at_s": 300, "say": "Stir it"}],
        },
        {"key": "hold", "kind": "hold", "lasts_s": 864000, "ends": "brewer"},
    ],
}
WEBHOOK = {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/hook"}


def asked(rig: Rig) -> list[dict[str, Any]]:
    """Every alarm about what a stage asks, oldest first."""
    alarms = reversed(rig.get("/alarms")["items"])
    return [a for a in alarms if a["key"] in ("stage-due", "stage-overdue")]


def kept(rig: Rig) -> tuple[int, int]:
    """How many memories of stages there are, and how many rows of what was said of them."""
    with rig.record.reading() as connection:
        return (
            connection.execute(
                select(func.count()).where(alarm_memory.c.subject.like('["stage-%'))
            ).scalar_one(),
            connection.execute(select(func.count()).where(said.c.subject.like('["stage-%'))).scalar_one(),
        )


def test_taking_the_batch_on_acknowledges_what_its_stage_asked(rig: Rig) -> None:
    rig.post("/channels", WEBHOOK)
    batch = with_batch(rig, PLAN)
    rig.until(1800)
    before = [(a["key"], a["state"]) for a in asked(rig)]

    rig.post(f"/batches/{batch}/advance", {"to": "rest"})
    rig.rounds(1)

    assert before == [("stage-due", "unacknowledged"), ("stage-overdue", "unacknowledged")]
    assert [a["state"] for a in asked(rig)] == ["normal", "normal"]
    assert {a["acknowledged_by"] for a in asked(rig)} == {"the brewer"}
    history = rig.get(f"/alarms/{asked(rig)[0]['id']}")["transitions"]
    assert [t["event"] for t in history] == ["raised", "acknowledged", "returned"]
    assert "taken on" in history[1]["cause"]


def test_a_prompt_that_nobody_answered_stays_when_its_stage_elapses_by_itself(rig: Rig) -> None:
    batch = with_batch(rig, PLAN)
    rig.post(f"/batches/{batch}/advance", {"to": "rest"})

    rig.until(700)

    assert [a["state"] for a in asked(rig)] == ["returned-unacknowledged"]


def test_what_was_acknowledged_before_is_not_acknowledged_again(rig: Rig) -> None:
    batch = with_batch(rig, PLAN)
    rig.until(700)
    rig.post(f"/alarms/{asked(rig)[0]['id']}/acknowledge", {"note": "in a minute"})

    rig.post(f"/batches/{batch}/advance", {"to": "rest"})
    rig.rounds(1)

    history = rig.get(f"/alarms/{asked(rig)[0]['id']}")["transitions"]
    assert [t["event"] for t in history] == ["raised", "acknowledged", "returned"]
    assert "in a minute" in history[1]["cause"]


def test_ending_a_batch_acknowledges_what_it_asked_for(rig: Rig) -> None:
    batch = with_batch(rig, PLAN)
    rig.until(700)

    rig.post(f"/batches/{batch}/advance", {"to": "end"})
    rig.rounds(1)

    assert [a["state"] for a in asked(rig)] == ["normal"]


def test_nothing_is_remembered_of_what_was_done(rig: Rig) -> None:
    rig.post("/channels", WEBHOOK)
    batch = with_batch(rig, PLAN)
    rig.until(700)
    before = kept(rig)

    rig.post(f"/batches/{batch}/advance", {"to": "rest"})
    rig.rounds(2)

    assert before == (1, 1)
    assert kept(rig) == (0, 0)
    assert asked(rig)[0]["state"] == "normal"


def test_what_is_asked_again_after_an_undo_is_news_again(rig: Rig) -> None:
    batch = with_batch(rig, PLAN)
    rig.until(700)
    rig.post(f"/batches/{batch}/advance", {"to": "rest"})
    rig.rounds(2)

    rig.post(f"/batches/{batch}/undo")
    rig.rounds(2)

    assert [a["state"] for a in asked(rig)] == ["normal", "unacknowledged"]


LAST_WORD: dict[str, Any] = {
    "name": "Steep and hold",
    "stages": [
        {
            "key": "steep",
            "kind": "stand",
            "lasts_s": 605,
            "ends": "time",
            "prompts": [{"before_end_s": 0, "say": "Lift the hops out"}],
        },
        {"key": "hold", "kind": "hold", "lasts_s": 864000, "ends": "brewer"},
    ],
}


def test_a_prompt_at_the_very_end_of_a_stage_that_elapses_is_said(rig: Rig) -> None:
    rig.post("/channels", WEBHOOK)
    with_batch(rig, LAST_WORD)

    rig.until(700)

    assert [(a["state"], a["reason"][:17]) for a in asked(rig)] == [
        ("returned-unacknowledged", "Lift the hops out")
    ]
    with rig.record.reading() as connection:
        assert [m["reason"] for m in messages(connection)] == ["first"]


def test_a_prompt_that_came_while_nobody_watched_is_said_after_the_start(tmp_path: Path) -> None:
    with rig_in(tmp_path) as first:
        with_batch(first, LAST_WORD)
        first.until(120)
        clock = first.clock
    clock.forward(1200)
    with rig_in(tmp_path, 20.0, clock) as second:
        second.rounds(2)

        assert [a["reason"][:17] for a in asked(second)] == ["Lift the hops out"]


THE_END: dict[str, Any] = {**LAST_WORD, "stages": LAST_WORD["stages"][:1]}
UNSEEN = [("returned-unacknowledged", "Lift the hops out", None)]


def seen(rig: Rig) -> list[tuple[str, str, str | None]]:
    return [(a["state"], a["reason"][:17], a["acknowledged_by"]) for a in asked(rig)]


def test_a_prompt_at_the_very_end_of_the_last_stage_is_said_and_waits_to_be_seen(rig: Rig) -> None:
    rig.post("/channels", WEBHOOK)
    batch = with_batch(rig, THE_END)

    rig.until(900)

    assert rig.get(f"/batches/{batch}")["state"] == "ended"
    assert seen(rig) == UNSEEN
    with rig.record.reading() as connection:
        assert [m["reason"] for m in messages(connection)] == ["first"]


def test_the_last_prompt_is_said_after_the_start_when_the_batch_ended_while_nobody_watched(
    tmp_path: Path,
) -> None:
    with rig_in(tmp_path) as first:
        with_batch(first, THE_END)
        first.until(120)
        clock = first.clock
    clock.forward(1200)
    with rig_in(tmp_path, 20.0, clock) as second:
        second.rounds(3)

        assert seen(second) == UNSEEN


def test_a_last_prompt_that_stands_when_its_batch_elapses_still_waits_to_be_seen(rig: Rig) -> None:
    early = {**THE_END["stages"][0], "prompts": [{"before_end_s": 300, "say": "Lift the hops out"}]}
    with_batch(rig, {**THE_END, "stages": [early]})

    rig.until(400)
    before = seen(rig)
    rig.until(500)

    assert before == [("unacknowledged", "Lift the hops out", None)]
    assert seen(rig) == UNSEEN


def test_prompts_of_a_batch_that_is_entered_late_are_not_said_afterwards(rig: Rig) -> None:
    with_batch(rig, LAST_WORD, started_at=(START - timedelta(hours=3)).isoformat())

    rig.until(60)

    assert asked(rig) == []


def test_a_stage_that_ends_by_share_asks_once_the_estimate_has_it(rig: Rig) -> None:
    first = {"key": "primary", "kind": "primary", "target_c": 19, "ends": "share", "share": 0.75}
    rest = {"key": "rest", "kind": "rest", "target_c": 21}
    batch = with_batch(rig, {"name": "By share", "stages": [{**first, "lasts_s": 864000}, rest]})
    rig.rounds(1)
    before = asked(rig)

    rig.watch.tell_insight(batch, Insight(share_reached=ShareReached(0.75, START)))
    rig.rounds(1)

    assert before == []
    assert [(a["key"], a["state"]) for a in asked(rig)] == [("stage-due", "unacknowledged")]
    assert "75% has fermented" in asked(rig)[0]["reason"]
    answer = rig.get(f"/batches/{batch}")
    assert answer["stage"] == "primary"
    assert [due["kind"] for due in answer["due"]] == ["stage-due"]
