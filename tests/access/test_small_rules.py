from datetime import UTC, datetime, timedelta

import pytest

from service.access.door import FirstCode
from service.access.keys import as_typed, form_token, hashed, new_code, new_session, new_token
from service.access.names import alike, checked_name
from service.access.sessions import ABSOLUTE, IDLE, is_over, secret_in, set_cookie
from service.access.who import Scope, wanted_scope
from service.errors import InvalidInputError

NOW = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("method", "path", "scope"),
    [
        ("GET", "/api/v1/vessels", Scope.READ),
        ("HEAD", "/metrics", Scope.READ),
        ("POST", "/api/v1/probes/28-0/samples", Scope.PUSH),
        ("POST", "/api/v1/probes/28-0/samples/x", Scope.MANAGE),
        ("PUT", "/api/v1/probes/28-0/samples", Scope.MANAGE),
        ("POST", "/api/v1/brewing/priming", Scope.READ),
        ("POST", "/api/v1/plans/rehearse", Scope.READ),
        ("POST", "/api/v1/plans", Scope.MANAGE),
        ("POST", "/api/v1/batches/x/priming", Scope.READ),
        ("DELETE", "/api/v1/batches/x", Scope.MANAGE),
        ("BREW", "/api/v1/batches/x", Scope.MANAGE),
    ],
)
def test_a_request_needs_a_scope(method: str, path: str, scope: Scope) -> None:
    assert wanted_scope(method, path) is scope


@pytest.mark.parametrize(
    ("unseen", "old", "over"),
    [
        (timedelta(0), timedelta(0), False),
        (IDLE, IDLE, False),
        (IDLE + timedelta(seconds=1), IDLE + timedelta(seconds=1), True),
        (timedelta(0), ABSOLUTE, False),
        (timedelta(0), ABSOLUTE + timedelta(seconds=1), True),
    ],
)
def test_a_session_ends_idle_and_absolutely(unseen: timedelta, old: timedelta, over: bool) -> None:
    assert is_over(NOW - old, NOW - unseen, NOW) is over


@pytest.mark.parametrize(
    ("https", "prefix", "start"),
    [
        (False, "", "gylewatch=s; Path=/; "),
        (False, "/beer", "gylewatch=s; Path=/beer; "),
        (True, "", "__Host-gylewatch=s; Path=/; "),
        (True, "/beer", "__Secure-gylewatch=s; Path=/beer; "),
    ],
)
def test_a_cookie_is_held_to_its_place(https: bool, prefix: str, start: str) -> None:
    cookie = set_cookie("s", https, prefix)

    assert cookie.startswith(start)
    assert "; HttpOnly; SameSite=Lax" in cookie
    assert cookie.endswith("; Secure") is https
    assert secret_in(f"a=b; {cookie.partition(';')[0]}", https, prefix) == "s"
    assert secret_in(cookie.partition(";")[0], not https, prefix) is None


def test_secrets_are_long_and_never_the_same() -> None:
    assert len({new_session() for _ in range(100)}) == len({new_token() for _ in range(100)}) == 100
    assert len(new_session()) >= 43
    assert new_token().startswith("gyle_")
    assert form_token("a") != form_token("b") != hashed("b")


def test_a_code_fits_once_however_it_is_typed() -> None:
    first = FirstCode()
    assert not first.fits("")
    code = first.issue()

    assert first.fits(f"  {code.lower().replace('-', ' ')} ")
    assert not first.fits(code[:-1])
    assert not first.fits("")
    first.spend()
    assert not first.fits(code)


def test_a_new_code_ends_the_one_before() -> None:
    first = FirstCode()
    one, two = first.issue(), first.issue()

    assert (first.fits(one), first.fits(two)) == (False, True)
    assert len(as_typed(new_code())) == 15


@pytest.mark.parametrize("name", ["Attic", "J. O'Neil", "Żółw", "a", "shed-sensor 2", "x" * 40])
def test_people_are_called_as_they_like(name: str) -> None:
    assert checked_name(f" {name} ") == name


@pytest.mark.parametrize(
    "name", ["", " ", "<b>", "a\nb", "a\u202eb", "-", "x" * 41, "gylewatch", "A reader of Hall"]
)
def test_a_name_that_misleads_is_refused(name: str) -> None:
    with pytest.raises(InvalidInputError):
        checked_name(name)


def test_names_are_alike_to_people() -> None:
    assert alike("Attic", "ATTIC")
    assert not alike("Attic", "Antic")
