"""Brings the schema up to date with Alembic, from inside the program: no ini file is needed.

Also a program: ``python -m service.record.migrations.run``, the database's address on standard input.
"""

import sys
from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import Engine, create_engine, make_url

from service.record import sqlite


def config_for(engine: Engine) -> Config:
    """Alembic's configuration for this engine and the migrations beside this file."""
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent))
    config.attributes["engine"] = engine
    return config


def upgrade(engine: Engine, to: str = "head") -> None:
    """Bring the schema to a migration, the newest unless said; each step in its own transaction."""
    command.upgrade(config_for(engine), to)


def main() -> None:
    """Bring the database named on standard input up to date."""
    url = make_url(sys.stdin.read().strip())
    if url.get_backend_name() == "sqlite":
        upgrade(sqlite.writing_engine(Path(str(url.database))))
    else:
        upgrade(create_engine(url))


if __name__ == "__main__":
    main()
