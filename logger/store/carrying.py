"""The whole store carried in open formats: a folder of JSON lines and one CSV, out and in again.

`carried.json` says what the folder is; `NAME.jsonl` holds a table's rows, a JSON object each (times
in ISO 8601 UTC); `scans.csv.gz` holds every scan: its slot, its true time, its period, and a column
for each series, `probe/quantity/counts_per_unit`, with the count, or the grade's name where there
is no number, or nothing where the scan lacks the series. What opens doors, or says where notices
go, stays here.
"""

import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Final
from uuid import UUID

from sqlalchemy import Connection, Engine, Table, select
from sqlalchemy.exc import IntegrityError

from logger.errors import ConflictError, StoreError
from logger.locks import hold
from logger.store import backup, carried_scans, database
from logger.store.failures import file_of, told
from logger.store.scan_tables import blocks, chunks, pages, recent
from logger.store.tables import STAYS, Row, Series, StoreIdentity, table

FORMAT: Final = 1
CARD: Final = "carried.json"

Value = str | int | float | bool | None


def write_out(engine: Engine, folder: Path) -> int:
    """Write everything into a new or empty folder; returns how many scans there are."""
    with _files("written"):
        folder.mkdir(parents=True, exist_ok=True)
        if any(folder.iterdir()):
            raise StoreError(f"The folder {folder} is not empty; choose a new one.")
        with told(file_of(engine)), engine.connect() as connection:
            schema = database.schema_of(connection)
            for one in _tables():
                _write_rows(connection, one, folder / f"{one.name}.jsonl")
        number = carried_scans.write(engine, folder / carried_scans.NAME)
        card = {"format": FORMAT, "schema": schema, "scans": number}
        (folder / CARD).write_text(json.dumps(card), encoding="utf-8")
    return number


@contextmanager
def _files(done: str) -> Iterator[None]:
    """Say in a sentence which file of a carried folder cannot be read or written."""
    try:
        yield
    except StoreError:
        raise
    except OSError as error:
        raise StoreError(
            f"{error.filename or 'A file'} cannot be {done} ({error.strerror}); check the folder, "
            "its rights and the room on it, or choose another."
        ) from None


def read_in(folder: Path, data: Path) -> int:
    """Make a store of a carried folder where there is none yet; returns how many scans came.

    Raises StoreError naming the file and the line of what is wrong, and ConflictError where the
    data folder has a store; then nothing is left half done.
    """
    with hold(data, "logger"), hold(data, "service"), _files("read"):
        if (data / database.FILE_NAME).exists():
            raise ConflictError(
                f"The data folder {data} has a store already; choose an empty one with --data."
            )
        expected = _card(folder)
        with TemporaryDirectory(prefix="importing-", dir=data) as fresh:
            number = _fill(folder, Path(fresh))
            if number != expected:
                raise StoreError(
                    f"{folder / carried_scans.NAME} ends after {number} of {expected} scans."
                )
            backup.settle(Path(fresh) / database.FILE_NAME, data / database.FILE_NAME)
    return number


def _fill(folder: Path, fresh: Path) -> int:
    database.prepare(fresh)
    engine = database.engine(fresh)
    try:
        with told(file_of(engine)), engine.begin() as connection:
            for one in _tables():
                if one.name == StoreIdentity.__tablename__:
                    _take_site(connection, folder / f"{one.name}.jsonl")
                    continue
                file = folder / f"{one.name}.jsonl"
                if file.exists():  # a table this program has and the one that wrote it had not
                    _read_rows(connection, one, file)
        return carried_scans.read(engine, folder / carried_scans.NAME)
    finally:
        engine.dispose()


def _tables() -> Sequence[Table]:
    history = {recent, blocks, chunks, *pages.values(), table(Series)}
    return [
        one for one in Row.metadata.sorted_tables if one not in history and not one.info.get(STAYS)
    ]


def _card(folder: Path) -> int:
    try:
        card = json.loads((folder / CARD).read_text(encoding="utf-8"))
        written, schema, scans = card["format"], str(card["schema"]), int(card["scans"])
    except (OSError, ValueError, KeyError, TypeError):
        raise StoreError(
            f"{folder} is not a folder written by wormtub export --everything: "
            f"its {CARD} is missing or damaged."
        ) from None
    if written != FORMAT or schema > database.HEAD:
        raise StoreError(
            f"{folder} was written by a newer program (schema {schema}, this one has "
            f"{database.HEAD}): update this one."
        )
    return scans


def _write_rows(connection: Connection, one: Table, file: Path) -> None:
    with file.open("w", encoding="utf-8") as out:
        for row in connection.execute(select(one)).mappings():
            plain = {str(key): _plain(value) for key, value in row.items()}
            out.write(json.dumps(plain, ensure_ascii=False) + "\n")


def _plain(value: object) -> Value:
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, UUID):
        return str(value)
    if value is None or isinstance(value, str | int | float):
        return value
    raise TypeError(f"a {type(value).__name__} has no open form here")


def _read_rows(connection: Connection, one: Table, file: Path) -> None:
    rows = list(_rows(one, file))
    try:
        if rows:
            connection.execute(one.insert(), rows)
    except IntegrityError as error:
        raise StoreError(
            f"{file} holds what cannot be stored in {one.name}: {error.orig}."
        ) from None


def _take_site(connection: Connection, file: Path) -> None:
    """Keep whose store it is; which life of it this is, is new."""
    rows = list(_rows(table(StoreIdentity), file)) if file.exists() else []
    if len(rows) != 1 or "site" not in rows[0]:
        raise StoreError(f"{file} is missing or damaged: one row with the site is expected in it.")
    [row] = rows
    connection.execute(table(StoreIdentity).update().values(site=row["site"]))


def _rows(one: Table, file: Path) -> Iterator[dict[str, Any]]:
    with file.open(encoding="utf-8") as lines:
        for number, line in enumerate(lines, 1):
            try:
                plain = json.loads(line)
                yield {key: _typed(one, key, value) for key, value in plain.items()}
            except (ValueError, TypeError, KeyError, AttributeError) as error:
                raise StoreError(
                    f"{file}, line {number}, is no row of {one.name}: {error}."
                ) from None


def _typed(one: Table, key: str, value: Value) -> object:
    wanted = one.columns[key].type.python_type
    if value is None:
        return None
    if wanted is UUID:
        return UUID(str(value))
    if wanted is datetime or type(one.columns[key].type).__name__ == "UtcMicroseconds":
        return datetime.fromisoformat(str(value))
    if wanted is float and isinstance(value, int):
        return float(value)
    if not isinstance(value, wanted):
        raise TypeError(f"{key} is {value!r}")
    return value
