"""Migrations in a process of their own, so that what they take of memory is given back."""

import subprocess
import sys

from sqlalchemy import URL

from service.errors import GylewatchError


class MigrationError(GylewatchError):
    """The schema could not be brought up to date; the step that failed was rolled back."""


def upgrade_apart(url: URL) -> None:
    """Bring the database at `url` to the newest migration; MigrationError with the reason."""
    done = subprocess.run(
        [sys.executable, "-m", "service.record.migrations.run"],
        input=url.render_as_string(hide_password=False),
        capture_output=True,
        text=True,
        check=False,
    )
    if done.returncode:
        reason = (done.stderr.strip().splitlines() or ["no reason given"])[-1]
        raise MigrationError(f"The record could not be brought up to date: {reason}")
