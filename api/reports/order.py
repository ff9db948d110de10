"""What is ordered of the process that makes reports, as its command line."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final, Literal, cast, get_args
from uuid import UUID

TableName = Literal[
    "readings", "moments", "phases", "marks", "jars", "alarms", "numbers", "estimates"
]
TABLES: Final[tuple[TableName, ...]] = get_args(TableName)
BatchTableName = Literal["entries", "balance", "lots", "numbers"]
BATCH_TABLES: Final[tuple[BatchTableName, ...]] = get_args(BatchTableName)
What = Literal["html", "json"] | TableName | BatchTableName


@dataclass(frozen=True, slots=True)
class Order:
    """A report, all data, or one table, of a run or a batch, as of a moment."""

    data: Path
    of: Literal["run", "batch"]
    id: UUID
    what: What
    at: datetime

    def written(self) -> list[str]:
        """Write it as arguments."""
        return [str(self.data), self.of, str(self.id), self.what, self.at.isoformat()]

    @classmethod
    def read(cls, arguments: Sequence[str]) -> "Order":
        """Read what `written` wrote."""
        data, of, about, what, at = arguments
        return cls(
            Path(data),
            cast("Literal['run', 'batch']", of),
            UUID(about),
            cast("What", what),
            datetime.fromisoformat(at),
        )
