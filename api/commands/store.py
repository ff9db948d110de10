"""A store opened for a word that only reads it."""

from pathlib import Path

from sqlalchemy import Engine

from logger.errors import StoreError
from logger.store import database
from logger.store.failures import file_of, told


def opened(folder: Path) -> Engine:
    """Open the store of a data folder read-only, or say why it cannot be."""
    if not (folder / database.FILE_NAME).exists():
        raise StoreError(f"There is no store in {folder}; choose its folder with --data.")
    engine = database.engine(folder, read_only=True)
    with told(file_of(engine)), engine.connect() as connection:
        database.check_schema(connection, file_of(engine))
    return engine
