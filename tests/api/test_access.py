"""Who is let in over HTTP once there is an account: sessions, tokens by scope, hosts, other sites."""

import json
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from service.access.door import Access, Door
from service.access.hosts import networks
from service.access.passwords import Passwords
from service.access.sessions import ABSOLUTE, IDLE
from service.api.app import create_app
from service.record.access import AccountRow, add_account
from tests.rig import PROBE, START, Rig, rig_in, with_batch

PASSWORD = "kettle on the stair"
CHEAP = Passwords(memory_kib=64, passes=1)
"""The hash with little memory, so that tests are fast; the real one has tests of its own."""


@pytest.fixture(scope="module")
def hash_of_it() -> str:
    return CHEAP.hash(PASSWORD)


@pytest.fixture
def rig(tmp_path: Path, hash_of_it: str) -> Iterator[Rig]:
    """A rig with the account Attic, whose client has not logged in."""
    with rig_in(tmp_path, access=Access(passwords=CHEAP)) as made:
        with_batch(made)
        made.record.write(lambda c: add_account(c, AccountRow("attic", "Attic", hash_of_it, START, START)))
        yield made


def client(
    rig: Rig, door: Door | None = None, peer: str = "127.0.0.1", base: str = "http://127.0.0.1:8330"
) -> TestClient:
    """A visitor without cookies."""
    app = create_app(rig.desk, door=door)
    return TestClient(app, base_url=base, client=(peer, 40000), follow_redirects=False)


def detail(answer: Any, status: int) -> str:
    assert answer.status_code == status, answer.text
    assert answer.headers["content-type"] == "application/problem+json"
    return str(answer.json()["detail"])


def token(rig: Rig, scope: str, name: str = "Shed") -> dict[str, str]:
    """The header with a new token of that scope."""
    rig.log_in_as("attic")
    made = rig.post("/tokens", {"name": name, "scope": scope}, expect=201)
    return {"authorization": f"Bearer {made['token']}"}


# who is let in


@pytest.mark.parametrize(
    "path", ["/api/v1/vessels", "/api/v1/openapi.json", "/metrics", "/api/v1/events", "/api/v1/none"]
)
def test_with_an_account_nobody_is_let_in_without_saying_who(rig: Rig, path: str) -> None:
    answer = client(rig).get(path)

    assert "Log in, or send a token" in detail(answer, 401)
    assert answer.headers["www-authenticate"].startswith("Bearer")


@pytest.mark.parametrize("path", ["/healthz", "/static/x/none.css"])
def test_the_sign_of_life_and_the_files_of_the_pages_need_nobody(rig: Rig, path: str) -> None:
    assert client(rig).get(path).status_code in (200, 404)


def test_a_page_sends_a_stranger_to_the_login_and_back(rig: Rig) -> None:
    answer = client(rig).get("/batches?state=ended")

    assert answer.status_code == 303
    assert answer.headers["location"] == "/login?next=/batches%3Fstate%3Dended"


def test_what_the_service_lacks_is_told_to_programs_of_this_machine_only(rig: Rig) -> None:
    here, elsewhere = client(rig), client(rig, peer="192.0.2.7")
    forwarded = client(rig, Door(proxies=networks(["127.0.0.1"])))

    assert here.get("/readyz").status_code == 200
    assert elsewhere.get("/readyz").status_code == 401
    assert forwarded.get("/readyz", headers={"x-forwarded-for": "127.0.0.1"}).status_code == 401


def test_a_session_is_let_in_and_named(rig: Rig) -> None:
    rig.log_in_as("attic")

    assert rig.get("/session") == {"name": "Attic", "by": "session", "scope": "manage"}


@pytest.mark.parametrize(
    ("moved", "status"),
    [
        (IDLE - timedelta(minutes=1), 200),
        (IDLE + timedelta(minutes=1), 401),
    ],
)
def test_a_session_that_is_not_used_ends(rig: Rig, moved: timedelta, status: int) -> None:
    rig.log_in_as("attic")

    rig.clock.forward(moved.total_seconds())

    assert rig.client.get("/api/v1/session").status_code == status


def test_a_session_ends_however_much_it_is_used(rig: Rig) -> None:
    rig.log_in_as("attic")
    for _ in range(ABSOLUTE.days):
        assert rig.client.get("/api/v1/session").status_code == 200
        rig.clock.forward(86_400)
    rig.clock.forward(60)

    assert rig.client.get("/api/v1/session").status_code == 401


def test_logging_out_ends_the_session_for_good_and_takes_the_cookie_back(rig: Rig) -> None:
    secret = rig.log_in_as("attic")

    answer = rig.client.delete("/api/v1/session")
    again = client(rig).get("/api/v1/session", headers={"cookie": f"gylewatch={secret}"})

    assert answer.status_code == 204
    assert "gylewatch=; " in answer.headers["set-cookie"]
    assert "Max-Age=0" in answer.headers["set-cookie"]
    assert again.status_code == 401


def test_a_made_up_cookie_lets_nobody_in(rig: Rig) -> None:
    answer = client(rig).get("/api/v1/vessels", headers={"cookie": "gylewatch=made-up"})

    assert answer.status_code == 401


# other sites


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:8331"},
        {"origin": "https://127.0.0.1:8330"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {},
    ],
)
def test_a_cookie_changes_nothing_unless_the_browser_says_it_is_our_page(
    rig: Rig, headers: dict[str, str]
) -> None:
    secret = rig.log_in_as("attic")
    cookie = {"cookie": f"gylewatch={secret}"}

    answer = client(rig).post("/api/v1/vessels", json={"name": "Barrel"}, headers={**cookie, **headers})

    assert "another site" in detail(answer, 403)
    assert len(rig.get("/vessels")["items"]) == 1


@pytest.mark.parametrize("headers", [{"origin": "http://127.0.0.1:8330"}, {"sec-fetch-site": "same-origin"}])
def test_a_script_of_our_own_page_may_change_things(rig: Rig, headers: dict[str, str]) -> None:
    secret = rig.log_in_as("attic")
    cookie = {"cookie": f"gylewatch={secret}"}

    answer = client(rig).post("/api/v1/vessels", json={"name": "Barrel"}, headers={**cookie, **headers})

    assert answer.status_code == 201


# tokens


@pytest.mark.parametrize(
    ("scope", "method", "path", "body", "status"),
    [
        ("read", "GET", "/vessels", None, 200),
        ("read", "GET", "/changes", None, 200),
        ("read", "POST", "/brewing/ice", {"volume_l": 5, "og": 1.05, "from_c": 25, "to_c": 20}, 200),
        ("read", "POST", "/vessels", {"name": "Barrel"}, 403),
        ("read", "POST", "/probes/air/samples", {"samples": []}, 403),
        ("read", "DELETE", "/vessels/bucket", None, 403),
        ("push", "GET", "/vessels", None, 403),
        ("push", "GET", "/probes/air/samples", None, 403),
        ("push", "POST", "/vessels", {"name": "Barrel"}, 403),
        ("push", "POST", "/brewing/ice", {}, 403),
        ("manage", "GET", "/vessels", None, 200),
        ("manage", "POST", "/vessels", {"name": "Barrel"}, 201),
        ("manage", "GET", "/tokens", None, 403),
        ("manage", "POST", "/tokens", {"name": "More", "scope": "manage"}, 403),
        ("manage", "POST", "/accounts", {"name": "More", "password": PASSWORD}, 403),
        ("manage", "DELETE", "/accounts/attic", None, 403),
    ],
)
def test_a_token_may_what_its_scope_says(
    rig: Rig, scope: str, method: str, path: str, body: Any, status: int
) -> None:
    header = token(rig, scope)

    answer = client(rig).request(method, f"/api/v1{path}", json=body, headers=header)

    assert answer.status_code == status, answer.text


def test_a_push_token_posts_samples_and_nothing_else(rig: Rig) -> None:
    header = token(rig, "push")
    rig.post("/probes", {"label": "Air", "source": "pushed", "interval_s": 60})
    sample = {"at": rig.clock.at.isoformat(), "temp_c": 18.1}

    pushed = client(rig).post("/api/v1/probes/air/samples", json={"samples": [sample]}, headers=header)
    refused = client(rig).get("/api/v1/vessels", headers=header)

    assert pushed.json()["new"] == 1
    assert detail(refused, 403) == "This token has the scope push, and this needs read."
    assert 'scope="read"' in refused.headers["www-authenticate"]


@pytest.mark.parametrize("given", ["Bearer wrong", "Bearer", "Basic cm9iaW46eA==", "Bearer \xe9"])
def test_a_wrong_token_is_refused_in_words(rig: Rig, given: str) -> None:
    secret = rig.log_in_as("attic")
    headers = {"authorization": given.encode("latin-1"), "cookie": f"gylewatch={secret}".encode()}

    answer = client(rig).get("/api/v1/vessels", headers=headers)  # type: ignore[arg-type]

    assert "mistyped, or revoked" in detail(answer, 401)


def test_a_token_opens_no_page(rig: Rig) -> None:
    answer = client(rig).get("/settings", headers=token(rig, "manage"))

    assert "not the pages" in detail(answer, 403)


def test_a_token_is_shown_once_stored_hashed_and_ends_when_revoked(rig: Rig) -> None:
    header = token(rig, "read")
    secret = header["authorization"].removeprefix("Bearer ")

    listed = rig.get("/tokens")["items"]
    raw = b"".join(path.read_bytes() for path in rig.folder.glob("record.db*"))
    rig.client.delete("/api/v1/tokens/shed").raise_for_status()

    assert secret.startswith("gyle_")
    assert [sorted(one) for one in listed] == [["id", "made_at", "made_by", "name", "scope", "used_at"]]
    assert secret.encode() not in raw
    assert client(rig).get("/api/v1/vessels", headers=header).status_code == 401


def test_no_answer_with_a_token_is_kept_for_repeats(rig: Rig) -> None:
    rig.log_in_as("attic")
    made = rig.post("/tokens", {"name": "Shed", "scope": "read"}, **{"Idempotency-Key": "one"})

    raw = b"".join(path.read_bytes() for path in rig.folder.glob("record.db*"))
    again = rig.post("/tokens", {"name": "Shed", "scope": "read"}, expect=409, **{"Idempotency-Key": "one"})

    assert made["token"].encode() not in raw
    assert "revoke that one first" in again["detail"]


def test_the_last_use_of_a_token_is_written_at_most_once_a_minute(rig: Rig) -> None:
    header = token(rig, "read")
    visitor, seen, commits = client(rig), [], []

    for _ in range(4):
        before = rig.record.writer.commits
        visitor.get("/api/v1/vessels", headers=header).raise_for_status()
        commits.append(rig.record.writer.commits - before)
        seen.append(rig.get("/tokens/shed")["used_at"])
        rig.clock.forward(25)

    assert commits == [1, 0, 0, 1]
    assert seen[0] == seen[1] == seen[2] != seen[3]


# what is named


def test_an_alarm_is_acknowledged_by_name(rig: Rig) -> None:
    rig.rounds(2)
    rig.source.values[PROBE] = 22.6
    rig.until(700)
    header = token(rig, "manage", "Hall button")

    alarm = rig.standing()["above-band"]["id"]
    by_token = client(rig).post(f"/api/v1/alarms/{alarm}/acknowledge", headers=header).json()

    assert by_token["acknowledged_by"] == "Hall button"


def test_who_changed_what_is_written_down_without_values(rig: Rig) -> None:
    rig.log_in_as("attic")
    rig.post("/channels", {"kind": "webhook", "name": "Hall", "url": "http://127.0.0.1:9/s3cret"})
    rig.post("/vessels", {"name": ""}, expect=422)

    changes = rig.get("/changes")["items"]

    assert changes[0] == {
        "id": changes[0]["id"],
        "at": "2026-11-25T08:00:00Z",
        "who": "Attic",
        "by": "session",
        "where": "127.0.0.1",
        "did": "POST /api/v1/channels",
        "fields": ["kind", "name", "url"],
    }
    assert changes[1]["who"] == "the brewer"
    assert "s3cret" not in str(changes)


def test_the_changes_come_in_pages(rig: Rig) -> None:
    rig.log_in_as("attic")
    for name in ("A", "B", "C"):
        rig.post("/vessels", {"name": name})

    first = rig.get("/changes", limit=2)
    second = rig.get("/changes", limit=2, cursor=first["next"])
    bad = rig.client.get("/api/v1/changes", params={"cursor": "bm8"})

    ids = [one["id"] for one in first["items"] + second["items"]]
    assert ids == sorted(ids, reverse=True)
    assert len(set(ids)) == 4
    assert bad.status_code == 422


# accounts


@pytest.mark.parametrize(
    ("body", "status", "field"),
    [
        ({"name": "Porch", "password": "short"}, 422, "/password"),
        ({"name": "Porch", "password": "passwordpassword"}, 422, "/password"),
        ({"name": "Porch", "password": "\ud800" + PASSWORD}, 422, None),
        ({"name": "  ", "password": PASSWORD}, 422, "/name"),
        ({"name": "<b>", "password": PASSWORD}, 422, "/name"),
        ({"name": "The Brewer", "password": PASSWORD}, 422, "/name"),
        ({"name": "ATTIC", "password": PASSWORD}, 409, None),
        ({"name": "Porch"}, 422, "/password"),
        ({"name": "Porch", "password": PASSWORD, "rank": 1}, 422, "/rank"),
    ],
)
def test_a_bad_account_is_refused_in_words(
    rig: Rig, body: dict[str, str], status: int, field: str | None
) -> None:
    rig.log_in_as("attic")

    answer = rig.client.post(
        "/api/v1/accounts", content=json.dumps(body), headers={"content-type": "application/json"}
    )

    assert answer.status_code == status, answer.text
    assert answer.json()["detail"]
    if field is not None:
        assert answer.json()["errors"][0]["field"] == field
    assert [one["id"] for one in rig.get("/accounts")["items"]] == ["attic"]


def test_an_account_makes_another_and_takes_it_away_but_not_the_last(rig: Rig) -> None:
    rig.log_in_as("attic")

    made = rig.client.post("/api/v1/accounts", json={"name": "Porch", "password": PASSWORD})
    porch = {"cookie": f"gylewatch={rig.log_in_as('porch')}"}
    before = client(rig).get("/api/v1/session", headers=porch).status_code
    rig.log_in_as("attic")
    gone = rig.client.delete("/api/v1/accounts/porch")
    after = client(rig).get("/api/v1/session", headers=porch).status_code
    last = rig.client.delete("/api/v1/accounts/attic")

    assert (made.status_code, made.headers["location"]) == (201, "/api/v1/accounts/porch")
    assert "password" not in made.json()
    assert gone.status_code == 204
    assert (before, after) == (200, 401)
    assert "last account" in detail(last, 409)


def test_a_new_password_needs_the_current_one_and_ends_every_session(rig: Rig) -> None:
    other = rig.log_in_as("attic")
    fresh = {"current": PASSWORD, "password": "lid under the stair"}

    wrong = rig.client.post("/api/v1/accounts/attic/password", json={**fresh, "current": "x"})
    done = rig.client.post("/api/v1/accounts/attic/password", json=fresh)

    assert "current password" in detail(wrong, 401)
    assert done.status_code == 204
    old = client(rig).get("/api/v1/session", headers={"cookie": f"gylewatch={other}"})
    assert old.status_code == 401
    new = done.headers["set-cookie"].partition(";")[0]
    assert client(rig).get("/api/v1/session", headers={"cookie": new}).json()["name"] == "Attic"


def test_nobody_changes_the_password_of_somebody_else(rig: Rig) -> None:
    rig.log_in_as("attic")
    rig.post("/accounts", {"name": "Porch", "password": PASSWORD})

    answer = rig.client.post(
        "/api/v1/accounts/porch/password", json={"current": PASSWORD, "password": "lid under the stair"}
    )

    assert "on the command line" in detail(answer, 403)


def test_before_the_first_account_there_is_no_other_and_no_token(tmp_path: Path) -> None:
    with rig_in(tmp_path) as rig:
        account = rig.post("/accounts", {"name": "Porch", "password": PASSWORD}, expect=403)
        made = rig.post("/tokens", {"name": "Shed", "scope": "read"}, expect=409)

        assert "gylewatch account add" in account["detail"]
        assert "gylewatch account add" in made["detail"]


# names and proxies


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("127.0.0.1:8330", 401),
        ("localhost", 401),
        ("[::1]:8330", 401),
        ("beer.example", 401),
        ("BEER.example.:80", 401),
        ("192.0.2.1", 421),
        ("evil.example", 421),
        ("beer.example.evil.example", 421),
        ("beer.example@evil.example", 421),
        ("beer.example:x", 421),
        ("", 421),
    ],
)
def test_only_our_own_names_are_answered(rig: Rig, host: str, status: int) -> None:
    visitor = client(rig, Door(names=frozenset({"beer.example"})))

    answer = visitor.get("/api/v1/vessels", headers={"host": host})

    assert answer.status_code == status, answer.text
    assert status == 401 or "GYLEWATCH_HOSTS" in answer.json()["detail"]


def test_the_address_that_a_request_arrived_at_is_always_ours(rig: Rig) -> None:
    visitor = client(rig, peer="192.0.2.7", base="http://192.0.2.1:8330")

    assert visitor.get("/api/v1/vessels").status_code == 401


def test_a_proxy_that_nobody_named_is_refused_with_the_remedy(rig: Rig) -> None:
    answer = client(rig).get("/api/v1/vessels", headers={"x-forwarded-for": "192.0.2.7"})

    assert "GYLEWATCH_PROXIES" in detail(answer, 403)


def test_a_trusted_proxy_says_who_asks_how_and_for_what(rig: Rig) -> None:
    secret = rig.log_in_as("attic")
    door = Door(names=frozenset({"beer.example"}), proxies=networks(["127.0.0.1"]))
    headers = {
        "x-forwarded-for": "203.0.113.9, 192.0.2.7",
        "x-forwarded-proto": "https",
        "x-forwarded-host": "beer.example",
        "origin": "https://beer.example",
        "cookie": f"__Host-gylewatch={secret}",
    }

    answer = client(rig, door).post("/api/v1/vessels", json={"name": "Barrel"}, headers=headers)

    assert answer.status_code == 201, answer.text
    assert answer.headers["strict-transport-security"] == "max-age=31536000"
    assert rig.get("/changes")["items"][0]["where"] == "192.0.2.7"


def test_over_tls_a_cookie_that_was_set_without_it_is_no_use(rig: Rig) -> None:
    secret = rig.log_in_as("attic")
    visitor = client(rig, Door(proxies=networks(["127.0.0.1"])))
    headers = {"x-forwarded-proto": "https", "cookie": f"gylewatch={secret}"}

    assert visitor.get("/api/v1/session", headers=headers).status_code == 401


def test_under_a_prefix_everything_is_named_with_it(rig: Rig) -> None:
    secret = rig.log_in_as("attic")
    visitor = client(rig, Door(prefix="/beer"))
    headers = {"cookie": f"gylewatch={secret}", "origin": "http://127.0.0.1:8330"}

    kept = visitor.post("/beer/api/v1/vessels", json={"name": "A"}, headers=headers)
    stripped = visitor.post("/api/v1/vessels", json={"name": "B"}, headers=headers)

    assert kept.headers["location"] == "/beer/api/v1/vessels/a"
    assert stripped.headers["location"] == "/beer/api/v1/vessels/b"
    assert visitor.get("/beer/settings").headers["location"] == "/beer/login?next=/settings"
    assert visitor.get("/beerhall/api/v1/vessels", headers=headers).status_code == 404


# what a browser is told


def test_every_answer_carries_the_headers_that_bind_a_browser(rig: Rig) -> None:
    for path in ("/healthz", "/api/v1/vessels", "/login"):
        headers = client(rig).get(path).headers

        assert "frame-ancestors 'none'" in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "same-origin"
        assert headers["cross-origin-opener-policy"] == "same-origin"
        assert "camera=()" in headers["permissions-policy"]
        assert "strict-transport-security" not in headers


def test_the_figures_of_the_watch_are_told_in_the_exposition_format(rig: Rig) -> None:
    rig.rounds(3)
    header = token(rig, "read")

    answer = client(rig).get("/metrics", headers=header)

    lines = answer.text.splitlines()
    assert answer.headers["content-type"] == "text/plain; version=0.0.4; charset=utf-8"
    assert "gylewatch_rounds_total 4" in lines
    assert f'gylewatch_sample_age_seconds{{probe="{PROBE}"}} 10' in lines
    assert "gylewatch_messages_waiting 0" in lines
    assert all(line.startswith("#") or len(line.rsplit(" ", 1)) == 2 for line in lines)
