"""A change of a batch's probes is marked on its curve, in its record and in its report, at its own time."""

from datetime import timedelta

import pytest

from service.actions.probe_marks import probe_marks
from service.record.facts import Assignment, PlacedFor, Probe
from tests.actions.brewed import brewed
from tests.rig import START, Rig

OLD = Probe("old", 1, "Old one", "onewire", None, None, None, START)
NEW = Probe("new", 2, "New one", "onewire", None, None, None, START)
KNOWN = {"old": OLD, "new": NEW}


def at(hours: float):  # type: ignore[no-untyped-def]
    return START + timedelta(hours=hours)


PLACES = [PlacedFor(1, "tub", at(0), at(50)), PlacedFor(2, "crate", at(50), None)]


def hung(
    probe: str, begins: float, ends: float | None, role: str = "liquid", vessel: str = "tub"
) -> Assignment:
    return Assignment(1, probe, vessel, role, at(begins), None if ends is None else at(ends))


@pytest.mark.parametrize(
    ("assignments", "said"),
    [
        (
            [hung("old", -5, 10), hung("new", 10, None)],
            [(10, "new", "old", "The probe New one took over from Old one in the beer.")],
        ),
        ([hung("old", -5, 10)], [(10, None, "old", "The probe Old one in the beer was taken away.")]),
        (
            [hung("new", 3, None, "surroundings")],
            [(3, "new", None, "The probe New one was hung beside the vessel.")],
        ),
        ([hung("old", -5, None)], []),
        ([hung("old", 0, 50)], []),
        ([hung("old", -5, 10), hung("old", 10, None)], []),
        ([hung("old", -5, 10, vessel="kettle"), hung("new", 60, None)], []),
        ([hung("old", 20, None, vessel="crate")], []),
        (
            [hung("old", 40, 60, vessel="crate")],
            [(60, None, "old", "The probe Old one in the beer was taken away.")],
        ),
    ],
)
def test_a_change_where_the_batch_was_is_marked(
    assignments: list[Assignment], said: list[tuple[float, str | None, str | None, str]]
) -> None:
    found = probe_marks(KNOWN, assignments, PLACES, at(0), at(100))

    assert [(m.at, m.probe_id, m.before_id, m.sentence) for m in found] == [
        (at(hours), new, old, words) for hours, new, old, words in said
    ]


def test_only_what_lies_in_the_stretch_is_marked() -> None:
    assignments = [hung("old", -5, 10), hung("new", 10, 20)]

    assert [m.at for m in probe_marks(KNOWN, assignments, PLACES, at(15), at(100))] == [at(20)]
    assert [m.at for m in probe_marks(KNOWN, assignments, PLACES, at(0), at(10))] == [at(10)]


def test_a_replaced_probe_is_seen_on_curve_record_and_report(rig: Rig) -> None:
    batch = brewed(rig, hours=12)
    rig.post("/probes", {"label": "Spare"})
    when = START - timedelta(hours=2)
    sentence = "The probe Spare took over from Beer in the beer."

    rig.post("/probes/beer/replace", {"with": "spare", "at": when.isoformat()})

    curve = rig.get(f"/batches/{batch}/series")["probe_changes"]
    record = rig.get(f"/batches/{batch}/record.json")["probe_changes"]
    report = rig.client.get(f"/api/v1/batches/{batch}/report").text
    assert [(m["at"], m["probe_id"], m["before_id"], m["sentence"]) for m in curve] == [
        ("2026-11-25T06:00:00Z", "spare", "beer", sentence)
    ]
    assert record == curve
    assert sentence in report
