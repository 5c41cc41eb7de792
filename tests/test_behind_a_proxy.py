"""The running program behind a proxy that ends TLS and serves it under a path."""

import re
from pathlib import Path

import httpx
import pytest

from tests.reverse_proxy import proxy_to
from tests.running import Running
from tests.test_cli_access import PASSWORD, called
from tests.web.markup import read

pytestmark = pytest.mark.component

NAME = "beer.example"


@pytest.mark.parametrize("keeps_prefix", [True, False], ids=["path-left-on", "path-taken-off"])
def test_everything_works_under_a_path_behind_tls(keeps_prefix: bool, tmp_path: Path) -> None:
    folder = tmp_path / "data"
    called(folder, "account", "add", "Attic", typed=f"{PASSWORD}\n").check_returncode()
    settings = {"page_url": f"https://{NAME}/beer", "proxies": "127.0.0.1"}
    with (
        Running(folder, **settings) as running,
        proxy_to(running.port, "/beer", keeps_prefix) as proxy,
        httpx.Client(
            base_url=proxy, headers={"host": NAME, "origin": f"https://{NAME}"}, trust_env=False
        ) as c,
    ):
        stranger = c.get("/beer/settings")
        login = c.post("/beer/login", data={"name": "Attic", "password": PASSWORD, "next": "/settings"})
        cookie = login.headers["set-cookie"]
        c.headers["cookie"] = cookie.partition(";")[0]
        home = c.get("/beer/")
        page = read(home.text)
        linked = {e.attributes[n] for e in page.each() for n in ("href", "src") if n in e.attributes}
        files = {one: c.get(one).status_code for one in linked if one.startswith("/beer/")}
        made = c.post("/beer/api/v1/vessels", json={"name": "Barrel"})
        with c.stream("GET", "/beer/api/v1/events") as events:
            first = next(events.iter_lines())
        form = {
            "name": "Cask",
            "token": page.one("form", action="/beer/logout").one("input").attributes["value"],
        }
        by_form = c.post("/beer/vessels", data=form)
        elsewhere = c.post(
            "/beer/api/v1/vessels", json={"name": "X"}, headers={"origin": "https://evil.example"}
        )
        where = c.get("/beer/api/v1/changes").json()["items"][0]["where"]
        bypass = running.client.get("/api/v1/vessels", headers={"x-forwarded-host": "evil.example"})

    assert stranger.headers["location"] == "/beer/login?next=/settings"
    assert login.headers["location"] == "/beer/settings"
    assert re.search(r"^__Secure-gylewatch=.*; Path=/beer; .*; Secure$", cookie)
    assert page.one("html").attributes["data-base"] == "/beer"
    assert all(one.startswith(("/beer/", "#")) for one in linked), linked
    assert set(files.values()) == {200}, files
    assert made.headers["location"] == "/beer/api/v1/vessels/barrel"
    assert first == "retry: 3000"
    assert by_form.headers["location"].startswith("/beer/")
    assert elsewhere.status_code == 403
    assert where == "203.0.113.9"
    assert bypass.status_code == 421
    assert home.headers["strict-transport-security"] == "max-age=31536000"


def test_a_proxy_before_a_program_without_accounts_lets_nobody_in(tmp_path: Path) -> None:
    with (
        Running(tmp_path / "data", proxies="127.0.0.1", prefix="/beer") as running,
        proxy_to(running.port, "/beer", keeps_prefix=False) as proxy,
    ):
        answer = httpx.get(f"{proxy}/beer/api/v1/vessels", trust_env=False)

    assert answer.status_code == 401
    assert "until there is an account" in answer.json()["detail"]


def test_logins_cost_little_memory_that_stays(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    called(folder, "account", "add", "Attic", typed=f"{PASSWORD}\n").check_returncode()
    with Running(folder) as running:
        for _ in range(3):
            running.client.get("/login")
        before = resident_mb(running.pid)
        for _ in range(5):
            answer = running.client.post("/login", data={"name": "Attic", "password": PASSWORD})
            assert answer.status_code == 303
        after = resident_mb(running.pid)

    # a hash takes 19.9 MB while it is made
    assert after - before < 10, f"{before:.1f} MB before, {after:.1f} MB after 5 logins"


def resident_mb(pid: int) -> float:
    status = Path(f"/proc/{pid}/status").read_text()
    found = re.search(r"VmRSS:\s+(\d+) kB", status)
    assert found is not None
    return int(found[1]) / 1000
