"""The process that imports: it reads an order on standard input and answers on standard output.

A day's trace in memory is more than the service should ever hold, so the service has this done in
a process of its own, started as `python -m` this module. It writes the store as the service's own
routes do, in one transaction; the service's feed shows what changed.
"""

import os
import sys
from pathlib import Path
from typing import Final

from api.access import Role, Visitor
from api.errors import problem_of, status_of
from api.house import House
from api.imports.bodies import ImportedRun, NewImport
from api.imports.letters import REFUSED, Refused
from api.imports.storing import import_run
from calc.errors import WormtubError
from logger.clock import SystemClock
from logger.settings import Settings

GENTLE: Final = 10  # the logger and the service come first


def taken(data: Path, who: str, order: NewImport) -> ImportedRun:
    """Import into a store, whoever else has it open."""
    house = House(Settings(data=data), SystemClock())
    try:
        return import_run(house, Visitor(who, Role.OPERATE), order)
    finally:
        house.close()


def main() -> None:
    """Take the order."""
    os.nice(GENTLE)
    data, who = sys.argv[1:]
    try:
        order = NewImport.model_validate_json(sys.stdin.buffer.read())
        sys.stdout.write(taken(Path(data), who, order).model_dump_json())
    except WormtubError as error:
        refused = Refused(status=status_of(error), error=problem_of(error))
        sys.stdout.write(refused.model_dump_json())
        sys.exit(REFUSED)


if __name__ == "__main__":
    main()
