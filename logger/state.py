"""How the logger is doing, in a small file beside the store: it can be read when that cannot."""

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final, Self

FILE_NAME: Final = "logger.json"


@dataclass(frozen=True, slots=True)
class LoggerState:
    """Counts since the logger started, and the room left for what comes."""

    process: int
    started_at_ms: int  # by the wall clock of that moment
    written_at_ms: int
    last_slot: int | None  # the newest scan that is in the store
    waiting_scans: int  # in memory, because the store is busy or refuses them
    dropped_scans: int  # lost, because the memory set aside for them was full
    missed_slots: int  # of the grid, because the scan before took too long
    free_bytes: int  # on the disk that holds the data folder
    sounder_problem: str = ""  # a sentence where a pin of sounder or lamp cannot be used

    def write(self, data: Path) -> None:
        """Replace the file at once, so that no reader sees half of it."""
        fresh = data / f"{FILE_NAME}.new"
        fresh.write_text(json.dumps(asdict(self)), encoding="utf-8")
        fresh.replace(data / FILE_NAME)

    @classmethod
    def read(cls, data: Path) -> Self | None:
        """Read it; None where no logger has written one, or a newer one writes another."""
        try:
            return cls(**json.loads((data / FILE_NAME).read_text(encoding="utf-8")))
        except (OSError, ValueError, TypeError):
            return None
