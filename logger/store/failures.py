"""Each way the file can fail, in one sentence for a person."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError

from logger.errors import StoreError
from logger.store.codec import DamagedError

SENTENCES: Final = {  # by SQLite's primary result code, https://sqlite.org/rescode.html
    sqlite3.SQLITE_FULL: "The disk of {file} is full; free some space on it. What was stored is "
    "unharmed.",
    sqlite3.SQLITE_READONLY: "The file {file} cannot be written; make it and its folder writable "
    "for this user, or choose another data folder with --data.",
    sqlite3.SQLITE_CANTOPEN: "The file {file} cannot be opened; check that its folder exists and "
    "that this user may write in it.",
    sqlite3.SQLITE_BUSY: "The file {file} is held by another program; end that program, or wait "
    "until it is done.",
    sqlite3.SQLITE_IOERR: "Reading or writing {file} failed; check the card and the space on it. "
    "What was stored before is unharmed.",
    sqlite3.SQLITE_NOTADB: "The file {file} is not a store of this program; move it away, or "
    "choose another data folder with --data.",
    sqlite3.SQLITE_CORRUPT: "The file {file} is damaged; keep a copy of it and restore the last "
    "backup.",
}


def store_error(error: BaseException | None, file: Path) -> StoreError:
    """Find the sentence for what the driver raised."""
    code = getattr(error, "sqlite_errorcode", None) or 0
    sentence = SENTENCES.get(code & 0xFF, "The file {file} cannot be used.")
    return StoreError(f"{sentence.format(file=file)} ({error})")


def file_of(engine: Engine) -> Path:
    """Name the file an engine works on."""
    return Path(engine.url.database or "")


@contextmanager
def told(file: Path) -> Iterator[None]:
    """Raise what the driver raises as a StoreError with a sentence."""
    try:
        yield
    except DBAPIError as error:
        raise store_error(error.orig, file) from error
    except sqlite3.Error as error:
        raise store_error(error, file) from error
    except DamagedError as error:
        sentence = SENTENCES[sqlite3.SQLITE_CORRUPT].format(file=file)
        raise StoreError(f"{sentence} ({error})") from error
