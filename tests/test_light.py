"""What the running service never loads: it would stay in the memory of a small machine for months."""

import subprocess
import sys

HEAVY = ("numpy", "scipy", "alembic", "mako", "rich", "pygments", "argon2")


def test_the_service_starts_without_what_it_seldom_needs() -> None:
    script = (
        "import sys\nimport service.cli, service.main\n"
        f"print(sorted({{m.split('.')[0] for m in sys.modules}} & set({HEAVY!r})))"
    )

    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)

    assert (done.stdout.strip(), done.returncode) == ("[]", 0), done.stderr


def test_httpx_can_still_have_its_command_line_afterwards() -> None:
    script = (
        "import service.notify.small_httpx, sys\nassert 'httpx._main' not in sys.modules\nimport httpx._main"
    )

    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)

    assert done.returncode == 0, done.stderr
