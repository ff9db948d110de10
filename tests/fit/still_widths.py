"""Measure how wide a still's members lie beside what they miss the truth by, on runs for tuning.

    python tests/fit/still_widths.py FOLDER... [--crews N] [--write]

goes through every run that tests/bench/still_runs.py left in the folders, once for each of so many
crews with what they know drawn anew, looks at three instants of each stage, and prints for each
quantity, kind of run and phase the widths that would have held the truth in 68 and 95 % of them;
with --write, into api/estimates/still/widths.py. Those runs may not be judged by afterwards:
tests/bench/estimate_still.py is for others.
"""

import argparse
import sys
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from itertools import repeat
from pathlib import Path

import numpy as np

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "bench")]

from estimate_still import follow, stage_instants  # noqa: E402
from still_cases import Knows, case  # noqa: E402
from still_runs import read  # noqa: E402
from widths import Miss, miss, widths_of, write  # noqa: E402

from api.estimates.still import bands  # noqa: E402

WRITTEN = ROOT / "api" / "estimates" / "still" / "widths.py"
INSTANTS = 3  # of each stage


def misses(path: Path, salt: int) -> Iterator[Miss]:
    """Give what one run's members missed by, with one crew."""
    bands.WIDTHS = {}  # as the members lie
    columns, about = read(path)
    made = case(columns, about, Knows(), salt)
    dice = np.random.default_rng([about["seed"], 77, salt])
    stages: dict[int, str] = {}
    for _ in range(INSTANTS):
        stages |= {i: name for name, i in stage_instants(made, dice).items()}
    for i, told in follow(made, list(stages)):
        left = columns["pot_pure_l"][i] / about["charge_pure_l"]
        half = "early" if left > bands.LATE_LEFT_SHARE else "late"
        phase = stages[i] if stages[i] in ("heating", "cooling") else half
        for quantity, values in made.truth.items():
            one, true = told.get(quantity), float(values[i])
            if one is not None and one.value is not None and np.isfinite(true):
                yield miss((quantity, str(about["kind"]), phase), one, true)


def of_run(path: Path, crews: int) -> list[Miss]:
    return [one for salt in range(crews) for one in misses(path, salt)]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--crews", type=int, default=1, help="each run is gone through so often")
    parser.add_argument("--write", action="store_true")
    asked = parser.parse_args()
    paths = sorted(path for folder in asked.folders for path in folder.glob("*-*.npz"))
    with ProcessPoolExecutor(2) as pool:
        made = widths_of(pool.map(of_run, paths, repeat(asked.crews)))
    if asked.write:
        write(WRITTEN, "still", "quantity, kind of run and phase", len(paths), made)


if __name__ == "__main__":
    main()
