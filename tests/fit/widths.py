"""Measure how wide members lie beside what they miss the truth by, and write it down.

A miss is how many widths of each band the truth lay from the band's middle, on its own side.
"""

from collections import defaultdict
from collections.abc import Iterable
from pathlib import Path
from textwrap import fill
from typing import NamedTuple

import numpy as np

from api.estimates.estimate import Estimate
from api.estimates.widening import NARROWEST, Widths

FEWEST_RUNS = 20
Key = tuple[str, str, str]
HEAD = '''\
"""Widths of a {kind}'s bands beside its members', written by tests/fit/{kind}_widths.py.

{said}
"""

from typing import Final

from api.estimates.widening import Widths

WIDTHS: Final[Widths] = {{
'''


class Miss(NamedTuple):
    key: Key
    near: float
    far: float


def miss(key: Key, one: Estimate, true: float) -> Miss:
    """Say by how many widths an estimate missed."""
    above = true >= one.value
    near, far = (one.high_68, one.high) if above else (one.low_68, one.low)
    off = abs(true - one.value)
    near_wide, far_wide = (max(abs(end - one.value), 1e-9) for end in (near, far))
    return Miss(key, off / near_wide, off / far_wide)


def widths_of(runs: Iterable[Iterable[Miss]]) -> Widths:
    """Give the widths that hold the truth as often as they say."""
    found, counts = defaultdict(list), defaultdict(int)
    for misses in runs:
        missed = list(misses)
        for one in missed:
            found[one.key].append((one.near, one.far))
        for key in {one.key for one in missed}:
            counts[key] += 1
    made = {}
    for key, rows in sorted(found.items()):
        near, far = np.array(rows).T
        by_68, by_95 = np.quantile(near, 0.68), np.quantile(far, 0.95)
        held = 100 * np.mean(near <= 1.0), 100 * np.mean(far <= 1.0)
        print(
            f"{' '.join(key):50} {counts[key]:4} runs; held the truth {held[0]:3.0f} and "
            f"{held[1]:3.0f} %; widths {by_68:.2f} and {by_95:.2f}"
        )
        if counts[key] >= FEWEST_RUNS and np.any(near > 0.0):
            made[key] = max(float(by_68), NARROWEST), max(float(by_95), NARROWEST)
    return made


def write(path: Path, kind: str, by: str, runs: int, made: Widths):
    """Write them for the estimates."""
    lines = [
        f'    ("{quantity}", "{one}", "{other}"): ({near:.2f}, {far:.2f}),\n'
        for (quantity, one, other), (near, far) in made.items()
    ]
    said = (
        f"By {by}: what the 68 % and the 95 % band of the members are multiplied by. From {runs} "
        f"simulated runs; none is narrowed to less than {NARROWEST}."
    )
    head = HEAD.format(kind=kind, said=fill(said, 100))
    path.write_text("".join([head, *lines, "}\n"]))
