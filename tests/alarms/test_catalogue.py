import inspect

import pytest

from service.alarms import rules
from service.alarms.catalogue import CATALOGUE, AlarmType, Words, documentation
from service.alarms.model import Priority
from service.plans.kinds import StageKind

PRIORITIES = {
    "heading-out": "low",
    "fast-change": "medium",
    "not-reached": "medium",
    "near-boil": "high",
    "near-freezing": "high",
    "no-reading": "high",
    "probe-fault": "medium",
    "probe-frozen": "medium",
    "probe-adrift": "high",
    "stage-due": "low",
    "stage-overdue": "medium",
    "not-started": "medium",
    "stopped-early": "medium",
    "sample-due": "low",
    "disturbed": "low",
    "bottles-warm": "high",
    "was-down": "medium",
    "clock-untrusted": "medium",
    "disk-low": "medium",
    "backup-old": "medium",
    "channel-failing": "medium",
    "record-damaged": "medium",
}
BY_STAGE = {"above-band", "below-band"}


def test_the_catalogue_is_complete() -> None:
    assert set(CATALOGUE) == set(PRIORITIES) | BY_STAGE
    assert {key: CATALOGUE[key].priority.value for key in PRIORITIES} == PRIORITIES
    assert all(CATALOGUE[key].priority_rule for key in BY_STAGE)


@pytest.mark.parametrize("entry", CATALOGUE.values(), ids=lambda entry: entry.key)
def test_every_entry_says_all_that_a_person_needs(entry: AlarmType) -> None:
    sentences = (entry.cause, entry.consequence, entry.advice, entry.helper, *entry.cautions)

    assert all(len(s) > 20 and s[0].isupper() and s.endswith(".") and "  " not in s for s in sentences)
    assert entry.title
    assert not entry.title.endswith(".")
    assert entry.respond_within_s > 0
    assert entry.after_s < 86_400
    assert entry.clear_after_s < 86_400
    assert entry.helper.startswith("Please")


@pytest.mark.parametrize("key", sorted(BY_STAGE))
def test_the_band_alarms_begin_near_the_usual_points_for_a_temperature_and_never_hastier(key: str) -> None:
    """Usual under ANSI/ISA-18.2, from memory: a deadband of 1 % of range (here 0 to 40 C), 60 s of delay."""
    entry = CATALOGUE[key]

    assert entry.deadband_c == pytest.approx(0.01 * 40, abs=0.1 + 1e-9)
    assert entry.after_s >= 60
    assert entry.clear_after_s >= 60


IN_STAGES = [
    pytest.param(entry, kind, words, id=f"{entry.key}-{kind}")
    for entry in CATALOGUE.values()
    for kind, words in entry.in_stages.items()
]


@pytest.mark.parametrize(("entry", "kind", "words"), IN_STAGES)
def test_words_for_a_kind_of_stage_are_as_whole_as_the_entry_s_own(
    entry: AlarmType, kind: str, words: Words
) -> None:
    sentences = (words.consequence, words.advice, words.helper, *words.cautions)

    assert StageKind(kind)
    assert entry.words_in(kind) is words
    assert all(len(s) > 20 and s[0].isupper() and s.endswith(".") and "  " not in s for s in sentences)
    assert words.helper.startswith("Please")
    assert words.cautions
    assert 60 <= words.respond_within_s <= 86_400


@pytest.mark.parametrize("key", ["above-band", "below-band", "not-reached"])
def test_a_fermenting_beer_is_never_told_of_a_mash(key: str) -> None:
    entry = CATALOGUE[key]

    for kind in (None, "primary", "rest"):
        own = entry.words_in(kind)
        assert "mash" not in f"{own.consequence} {own.advice} {own.helper} {own.cautions}".lower()
    mash = entry.words_in("mash")
    assert "mash" in mash.consequence.lower()
    assert "burns" in " ".join(mash.cautions)
    assert "cupboard" not in f"{mash.advice} {mash.helper}"
    assert mash.respond_within_s < own.respond_within_s


def test_what_is_urgent_wants_an_answer_sooner_than_what_is_not() -> None:
    def soonest(priority: Priority) -> float:
        return min(e.respond_within_s for e in CATALOGUE.values() if e.priority is priority)

    assert soonest(Priority.HIGH) < soonest(Priority.MEDIUM) < soonest(Priority.LOW)


@pytest.mark.parametrize(
    ("key", "word"),
    [
        ("near-boil", "burns"),
        ("near-freezing", "face and hand protection"),
        ("bottles-warm", "face and hand protection"),
        ("stopped-early", "burst"),
        ("above-band", "Carbon dioxide"),
        ("below-band", "local codes"),
    ],
)
def test_work_that_can_hurt_carries_its_caution(key: str, word: str) -> None:
    assert word in " ".join(CATALOGUE[key].cautions)


def test_the_documentation_says_what_the_entries_say() -> None:
    page = documentation()

    for entry in CATALOGUE.values():
        section = page.split(f"## `{entry.key}`: {entry.title}\n")[1].split("\n## ")[0]
        for words in (entry.cause, entry.consequence, entry.advice, entry.helper, *entry.cautions):
            assert words in section
        for said in entry.in_stages.values():
            assert all(
                words in section for words in (said.consequence, said.advice, said.helper, *said.cautions)
            )
    assert "**Answer within**: 2 minutes" in page.split("`near-boil`")[1]
    assert "raised after 10 minutes, returned after 10 minutes" in page.split("`above-band`")[1]
    assert "raised at once, returned after 1 minute" in page.split("`no-reading`")[1]


def test_every_alarm_has_a_rule_that_can_raise_it() -> None:
    def function(key: str) -> str:
        return "band_finding" if key in BY_STAGE else key.replace("-", "_")

    for key in CATALOGUE:
        assert inspect.isfunction(getattr(rules, function(key))), key
