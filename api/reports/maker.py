"""The process that makes reports: the only one, beside the command, that loads plotly.

Started by `office`, as `python -m` this module, it writes one report to standard output and ends,
and the memory it took ends with it. Where something is wrong it says so in one sentence on
standard error and ends with exit code 2.
"""

import os
import sys
from collections.abc import Iterable, Iterator
from typing import Final, cast

from api.house import House
from api.reports.batch_tables import batch_json, of_batch
from api.reports.gathering import batch_told, run_told
from api.reports.order import BatchTableName, Order, TableName
from api.reports.tables import of_run, run_json
from calc.errors import WormtubError
from logger.clock import FakeClock
from logger.settings import Settings
from logger.store.types import to_us

GENTLE: Final = 10  # the logger and the service come first


def made(order: Order) -> Iterator[bytes]:
    """Make what was ordered, in parts; raises WormtubError with a sentence."""
    # It only reads, so it takes no lock; its clock stands where the order was given.
    house = House(Settings(data=order.data), FakeClock(to_us(order.at)))
    try:
        yield from _of_run(house, order) if order.of == "run" else _of_batch(house, order)
    finally:
        house.close()


def _of_run(house: House, order: Order) -> Iterable[bytes]:
    told = run_told(house, order.id)
    if order.what == "json":
        return [run_json(house, told)]
    if order.what == "html":
        from api.reports.page import run_page  # noqa: PLC0415 - tables do without plotly

        return [run_page(house, told).encode()]
    name = cast("TableName", order.what)
    return (part.encode() for part in of_run(house, told, name).as_csv())


def _of_batch(house: House, order: Order) -> Iterable[bytes]:
    told = batch_told(house, order.id)
    if order.what == "json":
        return [batch_json(house, told)]
    if order.what == "html":
        from api.reports.page import batch_page  # noqa: PLC0415 - as above

        return [batch_page(house, told).encode()]
    name = cast("BatchTableName", order.what)
    return (part.encode() for part in of_batch(told, name).as_csv())


def main() -> None:
    """Make what the command line orders."""
    os.nice(GENTLE)
    out = sys.stdout.buffer
    sys.stdout = sys.stderr  # what a library prints is no part of a report
    try:
        for part in made(Order.read(sys.argv[1:])):
            out.write(part)
        out.flush()
    except WormtubError as error:
        sys.exit(_said(error))


def _said(error: WormtubError) -> int:
    sys.stderr.write(f"{error}\n")
    return 2


if __name__ == "__main__":
    main()
