"""Brings the schema up to date with Alembic, from inside the program: no ini file is needed."""

from pathlib import Path

from alembic import command
from alembic.config import Config
from sqlalchemy import Engine


def config_for(engine: Engine) -> Config:
    """Alembic's configuration for this engine and the migrations beside this file."""
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent))
    config.attributes["engine"] = engine
    return config


def upgrade(engine: Engine) -> None:
    """Bring the schema to the newest migration, each step in its own transaction."""
    command.upgrade(config_for(engine), "head")
