"""The power is cut while scans are written: what was acknowledged is there, and the file is sound.

The writer is a real process whose system calls strace records. From the record the files are made
again as a cut at some instant would have left them: with what was synced and nothing else, or with
any part of what was written since, or, where only the process was killed, with all of it.
"""

import os
import random
import re
import runpy
import shutil
import signal
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from logger.store import database
from logger.store.scans import ScanReader, ScanWriter

SCANS = 330
INSTANTS = 150  # where only what was synced survives, which is the hardest on a store
FEWER = int(os.environ.get("WORMTUB_TEST_POWER_CUTS", "50"))  # for each other way to survive
SECTOR = 512  # bytes a card writes whole
CALLS = "openat,write,pwrite64,ftruncate,fsync,fdatasync"
CALL = re.compile(r"(\w+)\((\d+<([^>]*)>|AT_FDCWD[^,]*)(?:, (.*))?\) += (-?\d+)(?:<([^>]*)>)?")
STORE = {database.FILE_NAME, f"{database.FILE_NAME}-wal"}  # the index in -shm is made anew
WRITER = Path(__file__).with_name("power_cut_writer.py")
ENVIRONMENT = os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])}
scan = runpy.run_path(str(WRITER))["scan"]

pytestmark = [
    pytest.mark.system,
    pytest.mark.skipif(shutil.which("strace") is None, reason="strace records the writer's calls"),
]


@dataclass
class Inode:
    """A file: what the card holds for sure, and what was written since."""

    synced: bytes = b""
    pending: list = field(default_factory=list)  # (offset, data), or a size to cut to

    def sync(self):
        self.synced, self.pending = self.content(self.pending), []

    def content(self, operations):
        made = bytearray(self.synced)
        for operation in operations:
            if isinstance(operation, int):
                made[operation:] = bytes(max(0, operation - len(made)))
            else:
                offset, data = operation
                made.extend(bytes(max(0, offset - len(made))))
                made[offset : offset + len(data)] = data
        return bytes(made)


@dataclass
class Disk:
    """The data folder as the calls so far have made it."""

    files: dict = field(default_factory=dict)
    named: dict = field(default_factory=dict)  # names that the folder holds for sure
    acknowledged: int = 0  # scans

    def after(self, call):
        kind, name, *rest = call
        if kind == "acknowledge":
            self.acknowledged += 1
        elif kind == "sync" and name == "":
            self.named = dict(self.files)
        elif kind == "sync":
            self.files[name].sync()
        elif kind == "open":
            self.files.setdefault(name, Inode())
        else:
            self.files[name].pending.append(rest[0] if kind == "cut" else tuple(rest))


def plain(hexed):
    return bytes.fromhex(hexed.replace("\\x", ""))


def record(folder, *options):
    """Run the writer and read what it did to the store's files."""
    log, data = folder / "calls", folder / "data"
    strace = ["strace", "-f", "-o", log, "-y", "-xx", "-s", "1000000", "-e", f"trace={CALLS}"]
    writer = [sys.executable, WRITER, data, str(SCANS), *options]
    subprocess.run([*strace, *writer], check=True, env=ENVIRONMENT, stdout=subprocess.DEVNULL)
    with log.open() as lines:
        return [call for line in lines if (call := understood(line, str(data))) is not None]


def understood(line, data):
    """Read one call; None where it failed or is not about the store."""
    found = CALL.search(line)
    if found is None or found[5].startswith("-"):
        return None
    kind, descriptor, path, rest, result, opened = found.groups()
    if kind == "write" and descriptor.startswith("1<"):
        return ("acknowledge", None)
    path = plain(opened if kind == "openat" else path or "").decode()
    name = "" if path == data else path.removeprefix(f"{data}/")
    if name in STORE or (name == "" and kind == "fsync"):
        return effect(kind, name, rest, int(result))
    return None


def effect(kind, name, rest, result):
    """Say what a call did to a file of the store, or to its folder."""
    if kind == "openat":
        return ("open", name)
    if kind in {"fsync", "fdatasync"}:
        return ("sync", name)
    if kind == "ftruncate":
        return ("cut", name, int(rest))
    hexed, _, offset = rest.rsplit(", ", 2)
    written = plain(hexed.strip('"'))
    assert len(written) == result
    return ("write", name, int(offset), written)


@pytest.fixture(scope="module")
def calls(tmp_path_factory):
    return record(tmp_path_factory.mktemp("recorded"))


def only_synced(inode, rng):
    return inode.synced


def some_of_the_rest(inode, rng):
    """Any of the writes under way may have reached the card, whole or in part."""
    kept = []
    for operation in inode.pending:
        if isinstance(operation, int):
            kept += [operation] * rng.randint(0, 1)
        else:
            offset, data = operation
            sectors = range(0, len(data), SECTOR)
            kept += [(offset + at, data[at : at + SECTOR]) for at in sectors if rng.random() < 0.5]
    return inode.content(kept)


def all_written(inode, rng):
    return inode.content(inode.pending)


def cuts(calls, survives, folder, count):
    """Make the files again at instants spread at random; yield folders, and scans they owe."""
    rng = random.Random(7)
    begin = next(at for at, call in enumerate(calls) if call[0] == "acknowledge")
    instants = set(rng.sample(range(begin, len(calls)), count))
    disk = Disk()
    for at, call in enumerate(calls):
        disk.after(call)
        if at in instants:
            made = folder / str(at)
            made.mkdir()
            for name, inode in (disk.files if survives is all_written else disk.named).items():
                (made / name).write_bytes(survives(inode, rng))
            yield made, disk.acknowledged


def opened_after(folder):
    """Start again on what is left: read everything, check the file, write on."""
    database.prepare(folder)
    engine, watching = database.engine(folder), database.engine(folder, read_only=True)
    reader, writer = ScanReader(watching), ScanWriter(engine)
    try:
        with watching.connect() as connection:
            checked = connection.exec_driver_sql("PRAGMA integrity_check").scalars().all()
        found = reader.after(0, 2 * SCANS)
        following = scan(len(found))
        writer.append(following)
        writer.seal_due(following.slot)
        assert checked == ["ok"]
        assert found == [scan(number) for number in range(len(found))]
        assert reader.after(0, 2 * SCANS) == [*found, following]
        return len(found)
    finally:
        writer.close()
        engine.dispose()
        watching.dispose()


def test_the_record_holds_the_work_that_matters(calls):
    kinds = [call[0] for call in calls]
    assert kinds.count("acknowledge") == SCANS
    assert kinds.count("sync") > SCANS  # one at least for each commit
    written_back = [call for call in calls if call[:2] == ("write", database.FILE_NAME)]
    assert len(written_back) > 100


@pytest.mark.parametrize(
    ("survives", "count"),
    [(only_synced, INSTANTS), (some_of_the_rest, FEWER), (all_written, FEWER)],
    ids=["only_synced", "some_of_the_rest", "all_written"],
)
def test_no_acknowledged_scan_is_lost_and_no_file_is_damaged(calls, survives, count, tmp_path):
    done = 0
    for folder, acknowledged in cuts(calls, survives, tmp_path, count):
        assert opened_after(folder) in {acknowledged, acknowledged + 1}
        shutil.rmtree(folder)
        done += 1
    assert done == count


@pytest.mark.parametrize("nth", [1, 3, 8, 20, 40])
def test_a_writer_killed_while_the_log_is_written_back_loses_nothing(tmp_path, nth):
    """Here the process is killed in truth, at the nth write into the store's own file."""
    data = tmp_path / "data"
    data.mkdir()
    database.prepare(data)
    file = data / database.FILE_NAME
    kill = ["-P", file, "-e", "trace=pwrite64", "-e", f"inject=pwrite64:signal=KILL:when={nth}"]
    writer = [sys.executable, WRITER, data, str(SCANS)]
    done = subprocess.run(
        ["strace", "-f", "-o", os.devnull, *kill, *writer],
        check=False,
        env=ENVIRONMENT,
        stdout=subprocess.PIPE,
        text=True,
    )
    acknowledged = len(done.stdout.split())
    assert done.returncode == -signal.SIGKILL
    assert acknowledged < SCANS
    assert opened_after(data) in {acknowledged, acknowledged + 1}


def test_the_model_shows_the_loss_where_commits_are_not_synced(tmp_path_factory, tmp_path):
    """With synchronous = NORMAL scans are lost; were none, the model would prove nothing."""
    calls = record(tmp_path_factory.mktemp("recorded"), "NORMAL")
    lost = [
        acknowledged - opened_after(folder)
        for folder, acknowledged in cuts(calls, only_synced, tmp_path, FEWER)
    ]
    assert max(lost) > 10
