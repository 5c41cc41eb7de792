import pytest

from sensors.faults import EXPLANATIONS, sentence_for
from sensors.sample import FaultKind


@pytest.mark.parametrize("kind", list(FaultKind))
def test_every_kind_of_fault_has_a_sentence_and_a_remedy(kind: FaultKind) -> None:
    known = EXPLANATIONS[kind]

    for text in (known.sentence, known.remedy):
        assert text[0].isupper()
        assert text.endswith(".")
    assert sentence_for(kind) == f"{known.sentence} {known.remedy}"


def test_no_two_kinds_are_explained_alike() -> None:
    assert len({known.sentence for known in EXPLANATIONS.values()}) == len(FaultKind)
