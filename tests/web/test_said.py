"""Sentences of the service in the brewer's units: temperatures, differences, gravities, and nothing else."""

import pytest

from service.errors import Problem
from web.said import said, said_problem
from web.words import Taste

F = Taste(units="F")
PLATO = Taste(gravity="Plato")


@pytest.mark.parametrize(
    "sentence, told",
    [
        ("Keep the bottles below 28 C, out of the sun.", "Keep the bottles below 82 F, out of the sun."),
        ("Bring it to 18 to 20 C, and wait.", "Bring it to 64 to 68 F, and wait."),
        ("Give a number, -10 to 45 C.", "Give a number, 14 to 113 F."),
        ("At 10.5 C on average.", "At 50.9 F on average."),
        ("20 C or a little above", "68 F or a little above"),
        ("to 18 C over 2 d", "to 64 F over 2 d"),
        ("19 C is warmer than the 20 C of the wort.", "66 F is warmer than the 68 F of the wort."),
        ("Beer is near -1 C (30 F).", "Beer is near 30 F."),
        ("falls by more than 2.5 C (4.5 F) in a day", "falls by more than 4.5 F in a day"),
        ("-18 C from a freezer", "0 F from a freezer"),
    ],
)
def test_temperatures_are_told_in_fahrenheit_with_their_digits(sentence: str, told: str) -> None:
    assert said(sentence, F) == told


@pytest.mark.parametrize(
    "sentence, told",
    [
        ("It rose by 1.0 C and has cooled by 0.5 C.", "It rose by 1.8 F and has cooled by 0.9 F."),
        ("Surroundings 2.0 C cooler would hold it;", "Surroundings 3.6 F cooler would hold it;"),
        ("It has changed by 0.3 C only", "It has changed by 0.5 F only"),
        ("more than 2.5 C too warm", "more than 4.5 F too warm"),
        ("until it has changed by 2 C.", "until it has changed by 3.6 F."),
    ],
)
def test_differences_have_no_offset(sentence: str, told: str) -> None:
    assert said(sentence, F) == told


@pytest.mark.parametrize(
    "sentence, told",
    [
        ("1.0480, at most 1.0121: the limit jar.", "11.91 Plato, at most 3.10 Plato: the limit jar."),
        ("For example 1.048 SG.", "For example 11.9 Plato."),
        ("about 1.013 bar less", "about 1.013 bar less"),
        ("Give 1.0130 bar absolute.", "Give 1.0130 bar absolute."),
        ("version 1.0130.2", "version 1.0130.2"),
        ("It holds 1.02 volumes.", "It holds 1.02 volumes."),
    ],
)
def test_gravities_are_told_in_plato(sentence: str, told: str) -> None:
    assert said(sentence, PLATO) == told


@pytest.mark.parametrize("sentence", ["Vitamin C helps.", "Take 3 Cs.", "1,000 samples", "Give 4.5."])
def test_what_is_no_temperature_stays(sentence: str) -> None:
    assert said(sentence, Taste(units="F", gravity="Plato")) == sentence


def test_who_reads_celsius_and_sg_gets_the_sentence_as_it_is() -> None:
    sentence = "1.0120 at 20 C (68 F)"

    assert said(sentence, Taste()) == sentence


def test_a_problem_is_told_with_its_remedy() -> None:
    told = said_problem(Problem("/target_c", "target_c is 140 C", "give 0 to 105 C"), F)

    assert told == Problem("/target_c", "target_c is 284 F", "give 32 to 221 F")
