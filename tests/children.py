"""What processes a process has started, and whether they go on."""

from pathlib import Path


def children_of(process):
    listed = Path(f"/proc/{process.pid}/task/{process.pid}/children")
    return [int(pid) for pid in listed.read_text().split()]


def words_of(pid):
    return Path(f"/proc/{pid}/cmdline").read_text().split("\0")


def is_alive(pid):
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except (FileNotFoundError, ProcessLookupError):
        return False
    return state != "Z"
