"""Sentences of the service, which speak of C and SG, in the brewer's own units. Pure.

Figures that go with a sentence are turned where it is shown. A difference of temperatures has no offset; that
it is one is told by the words around it, as the service uses them.
"""

import re

from service.errors import Problem
from web.words import MINUS, Taste, number

_NUMBER = rf"[-{MINUS}]?\d+(?:\.\d+)?"
_BOTH = re.compile(rf"{_NUMBER} C \(({_NUMBER} F)\)")
_BEFORE = r"\b(?:by|by about|by up to|within|of only)\s+$"
_AFTER = (
    r"\s+(?:cooler|warmer(?! than)|colder(?! than)|off\b|too\b|higher|lower|apart|uncertain|open\b"
    r"|above|below|in a day|within a day|of sample)"
)
_DEGREES = re.compile(rf"(?<![\w.])({_NUMBER})(?: (to|and|or) ({_NUMBER}))? C\b(?! \()")
_DIFFERENCE = re.compile(_BEFORE), re.compile(_AFTER)
_SG = re.compile(r"(?<![\w.])(0\.9\d{3}|1\.[01]\d{3})(?: SG)?(?! ?(?:bar|kg|g|l|L|%))(?![\w.]\d)")
_NAMED_SG = re.compile(r"(?<![\w.])(0\.9\d+|1\.[01]\d*) SG\b")


def said(text: str, taste: Taste) -> str:
    """The sentence with its temperatures and gravities in the brewer's units."""
    if taste.units == "F":
        text = _BOTH.sub(r"\1", text)
        text = _DEGREES.sub(lambda found: _degrees(found, taste), text)
    if taste.gravity == "Plato":
        for pattern in (_SG, _NAMED_SG):
            text = pattern.sub(lambda found: taste.gravity_words(float(found[1]), _digits(found[1])), text)
    return text


def said_problem(problem: Problem, taste: Taste) -> Problem:
    """A problem in the brewer's units."""
    return Problem(problem.field, said(problem.problem, taste), said(problem.remedy, taste))


def _degrees(found: re.Match[str], taste: Taste) -> str:
    before, after = _DIFFERENCE
    text = found.string
    apart = bool(before.search(text[: found.start()]) or after.match(text, found.end()))
    first, word, second = found[1], found[2], found[3]
    ends = [_turned(one, apart, taste) for one in (first, second) if one is not None]
    return f"{f' {word} '.join(ends)} {taste.units}"


def _turned(text: str, apart: bool, taste: Taste) -> str:
    """One figure with as many digits as it had."""
    value = float(text.replace(MINUS, "-"))
    turned = taste.span(value) if apart else taste.degrees(value)
    return number(turned, max(_digits(text), 1 if apart else 0))


def _digits(text: str) -> int:
    return len(text.partition(".")[2])
