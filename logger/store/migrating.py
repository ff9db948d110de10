"""Alembic at work: the only module that imports it, besides the migrations themselves."""

from pathlib import Path
from typing import Final

from alembic import command
from alembic.config import Config
from sqlalchemy import Connection

from logger.errors import SchemaError
from logger.store.database import HEAD, schema_of

SCRIPTS: Final = Path(__file__).parent / "migrations"


def config(connection: Connection | None = None) -> Config:
    """Point Alembic at the migrations, and at an open connection."""
    made = Config()
    made.set_main_option("script_location", str(SCRIPTS))
    made.attributes["connection"] = connection
    return made


def upgrade(connection: Connection, file: Path, to: str = "head") -> None:
    """Run the migrations the store lacks."""
    found = schema_of(connection)
    if found is not None and found > HEAD:
        raise SchemaError(
            f"The store {file} has schema {found}, newer than this program's {HEAD}: "
            "update the program. Nothing was changed."
        )
    command.upgrade(config(connection), to)
