"""Measure how wide a still's members lie beside what they miss the truth by, on runs for tuning.

    python tests/fit/still_widths.py FOLDER... [--write]

goes through every run that tests/bench/still_runs.py left in the folders, looks at three instants
of each stage, and prints for each quantity, kind of run and phase the widths that would have held
the truth in 68 and 95 % of them; with --write, into api/estimates/still/widths.py. Those runs may
not be judged by afterwards: tests/bench/estimate_still.py is for others.
"""

import argparse
import sys
from collections import defaultdict
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "bench")]

from estimate_still import follow, stage_instants  # noqa: E402
from still_cases import Knows, case  # noqa: E402
from still_runs import read  # noqa: E402

from api.estimates.still import bands  # noqa: E402

WRITTEN = ROOT / "api" / "estimates" / "still" / "widths.py"
PHASES = {
    "heating": "heating",
    "first half": "running",
    "second half": "running",
    "cooling": "cooling",
}
INSTANTS = 3  # of each stage
FEWEST_RUNS = 20
HEAD = '''\
"""Widths of a still's bands beside its members', written by tests/fit/still_widths.py.

By quantity, kind of run and phase: what the 68 % and the 95 % band of the members are multiplied
by. From {runs} simulated runs; none is narrowed to less than {narrowest}.
"""

from collections.abc import Mapping
from typing import Final

WIDTHS: Final[Mapping[tuple[str, str, str], tuple[float, float]]] = {{
'''


def misses(path: Path) -> Iterator[tuple[tuple[str, str, str], float, float]]:
    """Give, of one run, how many widths of each band the truth lay from the middle."""
    bands.WIDTHS = {}  # as the members lie
    columns, about = read(path)
    made = case(columns, about, Knows())
    dice = np.random.default_rng([about["seed"], 77, 0])
    stages: dict[int, str] = {}
    for _ in range(INSTANTS):
        stages |= {i: PHASES[name] for name, i in stage_instants(made, dice).items()}
    for i, told in follow(made, list(stages)):
        for quantity, values in made.truth.items():
            one, true = told.get(quantity), float(values[i])
            if one is None or one.value is None or not np.isfinite(true):
                continue
            near, far = (one.high_68, one.high) if true >= one.value else (one.low_68, one.low)
            off = abs(true - one.value)
            key = quantity, str(about["kind"]), stages[i]
            yield key, off / max(abs(near - one.value), 1e-9), off / max(abs(far - one.value), 1e-9)


def of_run(path: Path) -> list[tuple[tuple[str, str, str], float, float]]:
    return list(misses(path))


def widths(paths: list[Path]) -> dict[tuple[str, str, str], tuple[float, float]]:
    """Give the widths that hold the truth as often as they say."""
    found, runs = defaultdict(list), defaultdict(set)
    with ProcessPoolExecutor(2) as pool:
        for path, misses_of in zip(paths, pool.map(of_run, paths), strict=True):
            for key, near, far in misses_of:
                found[key].append((near, far))
                runs[key].add(path.stem)
    made = {}
    for key, rows in sorted(found.items()):
        near, far = np.array(rows).T
        by_68, by_95 = np.quantile(near, 0.68), np.quantile(far, 0.95)
        held = 100 * np.mean(near <= 1.0), 100 * np.mean(far <= 1.0)
        print(
            f"{' '.join(key):50} {len(runs[key]):4} runs; held the truth {held[0]:3.0f} and "
            f"{held[1]:3.0f} %; widths {by_68:.2f} and {by_95:.2f}"
        )
        if len(runs[key]) >= FEWEST_RUNS and np.any(near > 0.0):
            made[key] = max(float(by_68), bands.NARROWEST), max(float(by_95), bands.NARROWEST)
    return made


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--write", action="store_true")
    asked = parser.parse_args()
    paths = sorted(path for folder in asked.folders for path in folder.glob("*-*.npz"))
    made = widths(paths)
    if asked.write:
        head = HEAD.format(runs=len(paths), narrowest=bands.NARROWEST)
        lines = [
            f'    ("{quantity}", "{kind}", "{phase}"): ({near:.2f}, {far:.2f}),\n'
            for (quantity, kind, phase), (near, far) in made.items()
        ]
        WRITTEN.write_text("".join([head, *lines, "}\n"]))


if __name__ == "__main__":
    main()
