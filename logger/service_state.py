"""What the service tells the logger in a small file: that it judges, and how loud its alarms are.

The logger holds the pins of sounder and lamp, so that a dead service cannot keep them.
"""

import json
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Final, Self

FILE_NAME: Final = "service.json"


@dataclass(frozen=True, slots=True)
class ServiceState:
    """How the service stands; written as soon as the alarms change, and now and then between."""

    process: int
    judged_slot: int  # the newest scan that went through the alarms
    call: str = ""  # a logger.sounder.Call
    tries: int = 0  # rises by one for every press on "try the sounder"

    def write(self, data: Path) -> None:
        """Replace the file at once, so that no reader sees half of it."""
        fresh = data / f"{FILE_NAME}.new"
        fresh.write_text(json.dumps(asdict(self)), encoding="utf-8")
        fresh.replace(data / FILE_NAME)

    @classmethod
    def read(cls, data: Path) -> Self | None:
        """Read it; None where no service has written one, or a newer one writes another."""
        try:
            return cls(**json.loads((data / FILE_NAME).read_text(encoding="utf-8")))
        except (OSError, ValueError, TypeError):
            return None
