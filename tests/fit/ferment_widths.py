"""Measure how wide a ferment's members lie beside what they miss the truth by, on seeds for tuning.

    python tests/fit/ferment_widths.py FIRST LAST [--write]

draws the ferments of those seeds (below 10 000; tests/bench/ferment_runs.py), looks at each without
a gravity and with two, and prints for each quantity, with and without, before the peak and after
it, the widths that would have held the truth in 68 and 95 % of them; with --write, into
api/estimates/ferment/widths.py.
"""

import argparse
import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from random import Random

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "bench")]

from estimate_ferment import life_h, looked, truth  # noqa: E402
from ferment_runs import kept  # noqa: E402
from widths import Miss, miss, widths_of, write  # noqa: E402

from api.estimates.ferment import telling  # noqa: E402

WRITTEN = ROOT / "api" / "estimates" / "ferment" / "widths.py"
INSTANTS = 3  # with and without gravities


def misses(seed: int) -> Iterator[Miss]:
    """Give what one ferment's members missed by."""
    telling.WIDTHS = {}  # as the members lie
    course, dice = kept(seed), Random(f"tuning/{seed}")
    for number in range(2 * INSTANTS):
        at_h = dice.uniform(3.0, life_h(course))
        read = [course.gravity_at(at_h * part, dice.gauss(0, 0.001)) for part in (0.5, 0.9)]
        found = looked(course, at_h, read if number % 2 else [])
        side = "rising" if found["hours_to_peak"].value is not None else "falling"
        for quantity, true in truth(course, at_h).items():
            if found[quantity].value is not None:
                key = quantity, "read" if number % 2 else "unread", side
                yield miss(key, found[quantity], true)


def of_seed(seed: int) -> list[Miss]:
    return list(misses(seed))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("first", type=int)
    parser.add_argument("last", type=int)
    parser.add_argument("--write", action="store_true")
    asked = parser.parse_args()
    seeds = range(asked.first, asked.last + 1)
    with ProcessPoolExecutor(2) as pool:
        made = widths_of(pool.map(of_seed, seeds))
    if asked.write:
        by = "quantity, whether a gravity was read, and side of the peak"
        write(WRITTEN, "ferment", by, len(seeds), made)


if __name__ == "__main__":
    main()
