"""Coming in by the pages: login, first account, accounts, tokens, changes, and the prefix of a proxy."""

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from service.access.delays import Delays
from service.access.door import Access, Door
from service.access.passwords import Passwords
from service.api.app import create_app
from service.record.access import AccountRow, add_account, sessions_of
from service.record.audit import audit_rows
from tests.rig import PROBE, START, HandClock, Rig, rig_in, with_batch
from tests.web.markup import read
from tests.web.served_pages import begun, page
from tests.web.visitor import Visitor
from web.served import pages_for

PASSWORD = "kettle on the stair"
CHEAP = Passwords(memory_kib=64, passes=1)


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    clock = HandClock()
    access = Access(passwords=CHEAP, delays=Delays(clock.monotonic))
    with rig_in(tmp_path, clock=clock, access=access) as made:
        yield made


def attic(rig: Rig, door: Door | None = None) -> Visitor:
    """A visitor of a program that has the account Attic."""
    row = AccountRow("attic", "Attic", CHEAP.hash(PASSWORD), START, START)
    rig.record.write(lambda c: add_account(c, row))
    return Visitor(create_app(rig.desk, [pages_for(rig.desk)], door))


def log_in(visitor: Visitor, name: str = "Attic", password: str = PASSWORD, to: str = "/") -> httpx.Response:
    answer = visitor.post("/login", data={"name": name, "password": password, "next": to})
    if answer.status_code == 303:
        visitor.headers["cookie"] = answer.headers["set-cookie"].partition(";")[0]
    return answer


def test_the_login_shows_nothing_of_the_record(rig: Rig) -> None:
    with_batch(rig)
    visitor = attic(rig)

    answer = visitor.get("/login")

    assert answer.status_code == 200
    assert "Bucket" not in answer.text
    assert read(answer.text).all("nav") == []
    assert read(answer.text).one("title").text == "Log in, gylewatch"


def test_who_logs_in_gets_a_cookie_that_no_script_reads_and_goes_where_they_wanted(rig: Rig) -> None:
    visitor = attic(rig)

    answer = log_in(visitor, to="/batches?state=ended")

    cookie = answer.headers["set-cookie"]
    assert answer.headers["location"] == "/batches?state=ended"
    assert {"HttpOnly", "SameSite=Lax", "Path=/"} <= {part.strip() for part in cookie.split(";")}
    assert "Attic" in page(visitor, "/settings").one("footer").text


@pytest.mark.parametrize("to", ["//evil.example", "https://evil.example", "/\\evil.example"])
def test_a_login_never_leads_to_another_site(rig: Rig, to: str) -> None:
    assert log_in(attic(rig), to=to).headers["location"] == "/"


@pytest.mark.parametrize(
    ("name", "password"), [("Attic", "lid on the stair"), ("Nobody", PASSWORD), ("", "")]
)
def test_a_wrong_name_and_a_wrong_password_are_answered_alike(rig: Rig, name: str, password: str) -> None:
    answer = log_in(attic(rig), name, password)

    assert answer.status_code == 401
    assert "do not belong together" in read(answer.text).text
    assert "set-cookie" not in answer.headers
    assert password == "" or password not in answer.text


def test_wrong_tries_are_answered_later_and_later_and_waiting_helps(rig: Rig) -> None:
    visitor = attic(rig)

    first = [log_in(visitor, password="x").status_code for _ in range(3)]
    refused = log_in(visitor)
    wait = int(refused.headers["retry-after"])
    rig.clock.forward(wait)
    again = log_in(visitor, password="x")
    longer = int(log_in(visitor).headers["retry-after"])
    rig.clock.forward(longer)
    at_last = log_in(visitor)

    assert first == [401, 401, 401]
    assert refused.status_code == 429
    assert f"wait {wait} second" in read(refused.text).text
    assert again.status_code == 401
    assert longer > wait
    assert at_last.status_code == 303


def test_logging_out_ends_the_session(rig: Rig) -> None:
    visitor = attic(rig)
    log_in(visitor)
    form = page(visitor, "/settings").one("form", action="/logout")

    answer = visitor.post("/logout", data=begun(form))

    assert answer.headers["location"] == "/login"
    assert "Max-Age=0" in answer.headers["set-cookie"]
    assert visitor.get("/settings").headers["location"] == "/login?next=/settings"


def test_a_new_login_ends_the_session_that_this_browser_had(rig: Rig) -> None:
    visitor = attic(rig)
    log_in(visitor)
    log_in(visitor)

    with rig.record.reading() as connection:
        assert len(sessions_of(connection, "attic")) == 1


def test_a_form_of_one_session_is_not_taken_from_another(rig: Rig) -> None:
    one = attic(rig)
    log_in(one)
    token = begun(page(one, "/settings").one("form", action="/logout"))["token"]
    log_in(one)

    answer = one.post("/logout", data={"token": token})

    assert answer.status_code == 403
    assert one.get("/settings").status_code == 200


def test_an_alarm_is_acknowledged_by_the_name_of_the_account(rig: Rig) -> None:
    with_batch(rig)
    rig.rounds(2)
    rig.source.values[PROBE] = 22.6
    rig.until(700)
    alarm = rig.standing()["above-band"]["id"]
    visitor = attic(rig)
    log_in(visitor)
    form = page(visitor, "/alarms").one("form", action=f"/alarms/{alarm}/acknowledge")

    visitor.post(f"/alarms/{alarm}/acknowledge", data=begun(form))

    rig.log_in_as("attic")
    assert rig.standing()["above-band"]["acknowledged_by"] == "Attic"
    assert "by Attic" in page(visitor, "/alarms").text
    assert f"POST /alarms/{alarm}/acknowledge" in page(visitor, "/changes").text


def test_a_link_in_a_message_needs_no_login(rig: Rig) -> None:
    visitor = attic(rig)

    answer = visitor.get("/acknowledge/no-such-link")

    assert answer.status_code == 404
    assert "This link cannot be used" in answer.text


def test_a_token_is_made_on_the_page_shown_once_and_revoked(rig: Rig) -> None:
    visitor = attic(rig)
    log_in(visitor)
    form = begun(page(visitor, "/accounts").one("form", action="/tokens"))

    made = read(visitor.post("/tokens", data={**form, "name": "Shed", "scope": "push"}).text)
    listed = page(visitor, "/accounts")
    visitor.post("/tokens/shed/remove", data=begun(listed.one("form", action="/tokens/shed/remove")))

    secret = made.one("code", id="made-token").text
    assert secret.startswith("gyle_")
    assert secret not in listed.text
    assert "May post samples only. Never used. Made by Attic." in listed.text
    assert "There is none." in page(visitor, "/accounts").text


@pytest.mark.parametrize(
    ("action", "typed", "said"),
    [
        ("/accounts", {"name": "Porch", "password": "short", "again": "short"}, "at least 12 characters"),
        ("/accounts", {"name": "Porch", "password": PASSWORD, "again": "x"}, "not the same as the first"),
        ("/accounts", {"name": "attic", "password": PASSWORD, "again": PASSWORD}, "already"),
        ("/accounts/password", {"current": "x", "password": PASSWORD, "again": PASSWORD}, "not right"),
        ("/tokens", {"name": "", "scope": "read"}, "Is empty"),
        ("/tokens", {"name": "Shed", "scope": "all"}, "one of the three"),
    ],
)
def test_what_cannot_be_comes_back_with_its_reason_and_without_the_password(
    rig: Rig, action: str, typed: dict[str, str], said: str
) -> None:
    visitor = attic(rig)
    log_in(visitor)
    form = begun(page(visitor, "/accounts").one("form", action=action))

    answer = visitor.post(action, data={**form, **typed})

    assert answer.status_code in (409, 422)
    assert said in read(answer.text).text
    assert PASSWORD not in answer.text


def test_before_accounts_the_settings_say_that_this_machine_is_open(rig: Rig) -> None:
    visitor = Visitor(create_app(rig.desk, [pages_for(rig.desk)]))

    assert "whoever is on this machine may change everything" in page(visitor, "/settings").text
    assert visitor.get("/login").headers["location"] == "/"


def test_the_first_account_needs_the_code_and_logs_in(rig: Rig) -> None:
    code = rig.desk.access.code.issue()
    visitor = Visitor(create_app(rig.desk, [pages_for(rig.desk)]))
    form = begun(page(visitor, "/first-account").one("form", action="/first-account"))
    typed = {**form, "name": "Attic", "password": PASSWORD, "again": PASSWORD}

    wrong = visitor.post("/first-account", data={**typed, "code": "AAAAA-AAAAA-AAAAA"})
    weak = visitor.post("/first-account", data={**typed, "code": code, "password": "a", "again": "a"})
    made = visitor.post("/first-account", data={**typed, "code": code.lower().replace("-", " ")})

    assert (wrong.status_code, weak.status_code, made.status_code) == (401, 422, 303)
    assert not rig.desk.access.code.fits(code)
    visitor.headers["cookie"] = made.headers["set-cookie"].partition(";")[0]
    assert "One person may come in" in page(visitor, "/accounts").text
    with rig.record.reading() as connection:
        assert "made the first account" in audit_rows(connection, 1, None)[0].did


def test_under_a_prefix_every_link_form_and_cookie_has_it(rig: Rig) -> None:
    with_batch(rig)
    visitor = attic(rig, Door(prefix="/beer"))

    answer = visitor.post("/beer/login", data={"name": "Attic", "password": PASSWORD, "next": "/alarms"})
    visitor.headers["cookie"] = answer.headers["set-cookie"].partition(";")[0]

    assert answer.headers["location"] == "/beer/alarms"
    assert "Path=/beer;" in answer.headers["set-cookie"]
    for path in ("/", "/settings", "/accounts", "/changes", "/alarms", "/probes", "/plans", "/numbers"):
        shown = page(visitor, f"/beer{path}")
        assert shown.one("html").attributes["data-base"] == "/beer"
        for element in shown.each():
            for name in ("href", "src", "action"):
                target = element.attributes.get(name, "#")
                assert target.startswith(("/beer/", "#")), (path, target)
