"""Accounts and tokens from the command line, beside a running watch, and listening elsewhere with them."""

import json
import subprocess
from collections.abc import Mapping
from pathlib import Path

import httpx
import pytest

from tests.running import PROGRAM, Running, eventually

PASSWORD = "kettle on the stair"

pytestmark = pytest.mark.component


def called(
    folder: Path, *words: str, typed: str = "", settings: Mapping[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    environment = {"PATH": "/usr/bin:/bin", "GYLEWATCH_DATA_DIR": str(folder), **(settings or {})}
    return subprocess.run(
        [str(PROGRAM), *words],
        input=typed,
        env=environment,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


def test_accounts_and_tokens_are_kept_before_any_start(tmp_path: Path) -> None:
    folder = tmp_path / "data"

    early = called(folder, "token", "add", "Shed", "--scope", "push")
    added = called(folder, "account", "add", "Attic", typed=f"{PASSWORD}\n")
    twice = called(folder, "account", "add", "attic", typed=f"{PASSWORD}\n")
    token = called(folder, "token", "add", "Shed", "--scope", "push")
    listed = json.loads(called(folder, "token", "list", "--json").stdout)
    refused = called(folder, "account", "remove", "Attic")
    gone = called(folder, "account", "remove", "Attic", "--last")

    assert "Make an account first" in early.stderr
    assert added.stdout == "Attic may log in now.\n"
    assert (twice.returncode, "already" in twice.stderr) == (1, True)
    assert token.stdout.startswith("gyle_")
    assert [(one["name"], one["scope"], one["made_by"]) for one in listed] == [
        ("Shed", "push", "the command line")
    ]
    assert (refused.returncode, "--last" in refused.stderr) == (1, True)
    assert gone.stdout == "Attic is taken away.\n"
    assert called(folder, "token", "list").stdout == ""
    assert "may change everything" in called(folder, "account", "list").stdout


@pytest.mark.parametrize(
    ("words", "typed", "said"),
    [
        (("account", "add", "Attic"), "short\n", "at least 12 characters"),
        (("account", "add", "Attic"), "passwordpassword\n", "tried first everywhere"),
        (("account", "add", "Attic"), "", "No password came"),
        (("account", "add", "<b>"), f"{PASSWORD}\n", "letters and figures"),
        (("account", "password", "Nobody"), f"{PASSWORD}\n", "There is no account 'Nobody'"),
        (("token", "remove", "None"), "", "There is no token 'None'"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence(
    words: tuple[str, ...], typed: str, said: str, tmp_path: Path
) -> None:
    done = called(tmp_path / "data", *words, typed=typed)

    assert done.returncode == 1
    assert done.stderr.startswith("gylewatch: ")
    assert said in done.stderr
    assert "Traceback" not in done.stderr


def test_listening_elsewhere_is_refused_without_an_account(tmp_path: Path) -> None:
    done = called(
        tmp_path / "data", "watch", settings={"GYLEWATCH_HOST": "0.0.0.0", "GYLEWATCH_PORT": "18330"}
    )

    assert done.returncode == 1
    assert "GYLEWATCH_HOST" in done.stderr
    assert "gylewatch account add" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_running_watch_sees_at_once_what_the_command_line_changes(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    called(folder, "account", "add", "Attic", typed=f"{PASSWORD}\n").check_returncode()
    with Running(folder, host="0.0.0.0") as running:
        token = called(folder, "token", "add", "Shed", "--scope", "read").stdout.split()[0]
        header = {"authorization": f"Bearer {token}"}

        stranger = running.client.get("/api/v1/vessels")
        let_in = running.client.get("/api/v1/vessels", headers=header)
        called(folder, "token", "remove", "Shed").check_returncode()
        revoked = running.client.get("/api/v1/vessels", headers=header)
        rebound = running.client.get("/api/v1/vessels", headers={**header, "host": "evil.example"})

    assert [one.status_code for one in (stranger, let_in, revoked, rebound)] == [401, 200, 401, 421]
    changes = called(folder, "account", "changes").stdout
    assert "revoked the token Shed" in changes.splitlines()[0]
    assert PASSWORD not in changes


def test_the_code_in_the_log_makes_the_first_account_once(tmp_path: Path) -> None:
    with Running(tmp_path / "data") as running:
        line = next(one for one in running.log.splitlines() if "first-account" in one)
        code = line.partition("the code ")[2].partition(".")[0]
        form = {"code": code, "name": "Attic", "password": PASSWORD, "again": PASSWORD}
        page = running.client.get("/first-account").text
        form["token"] = page.partition('name="token" value="')[2].partition('"')[0]

        wrong = running.client.post("/first-account", data={**form, "code": "AAAAA-AAAAA-AAAAA"})
        made = running.client.post("/first-account", data=form)
        logged_in = running.client.get("/settings")
        again = running.client.post("/first-account", data=form)
        with httpx.Client(base_url=running.url, trust_env=False) as another:
            stranger = another.get("/settings")

    assert "not the code" in wrong.text
    assert made.status_code == 303
    assert "gylewatch=" in made.headers["set-cookie"]
    assert logged_in.status_code == 200
    assert again.status_code == 303
    assert stranger.headers["location"] == "/login?next=/settings"
    assert running.log.count(code) == 1


def test_a_password_set_on_the_command_line_ends_the_sessions(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    called(folder, "account", "add", "Attic", typed=f"{PASSWORD}\n").check_returncode()
    with Running(folder) as running:
        login = {"name": "attic", "password": PASSWORD, "next": "/"}
        running.client.headers["origin"] = running.url

        running.client.post("/login", data=login)
        before = running.client.get("/").status_code
        called(folder, "account", "password", "Attic", typed="lid under the stair\n").check_returncode()
        after = running.client.get("/").status_code
        old = running.client.post("/login", data=login).status_code
        new = running.client.post("/login", data={**login, "password": "lid under the stair"}).status_code

    assert (before, after, old, new) == (200, 303, 401, 303)


def test_an_upgrade_still_sees_that_the_service_is_ready(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    called(folder, "account", "add", "Attic", typed=f"{PASSWORD}\n").check_returncode()

    with Running(folder) as running:  # waits for /readyz, as the installer does
        eventually(lambda: running.client.get("/readyz").json()["ready"], what="readiness")

        assert running.client.get("/metrics").status_code == 401
