"""A store in a folder, opened as logger and service do, and closed again."""

from contextlib import ExitStack, contextmanager
from dataclasses import dataclass

import pytest
from sqlalchemy import Engine

from logger.store import database
from logger.store.scans import ScanReader, ScanWriter


@dataclass
class Store:
    engine: Engine
    writer: ScanWriter
    reader: ScanReader

    def keep(self, scans, *, sealed_at=None):
        """Write scans, and seal what is over at the last of them or at a slot."""
        self.writer.append_many(scans)
        if scans:
            self.writer.seal_due(scans[-1].slot if sealed_at is None else sealed_at)
        return self


@contextmanager
def opened(folder):
    database.prepare(folder)
    with ExitStack() as closing:
        engines = database.engine(folder), database.engine(folder, read_only=True)
        for engine in engines:
            closing.callback(engine.dispose)
        store = Store(engines[0], ScanWriter(engines[0]), ScanReader(engines[1]))
        closing.callback(store.writer.close)
        closing.callback(store.reader.close)
        yield store


@pytest.fixture(scope="session")
def opening():
    """Open a store for the length of a block: `with opening(folder) as store`."""
    return opened


@pytest.fixture
def store(tmp_path):
    """Open a fresh store."""
    with opened(tmp_path) as made:
        yield made
